"""How the events of the day around the batch change the state. Pure; used by `evolve` alone."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from assistant.batch.record import shift_events as sh
from assistant.batch.record.state import CutterSetting, State, tray_name
from assistant.batch.record.steps import Walking
from assistant.errors import ImpossibleEvent


def _began(state: State, event: sh.WalkBegan) -> State:
    if state.walk is not None:
        raise ImpossibleEvent(f"{event.walk} began: {state.walk.name} is still open")
    others = tuple(one for one in state.walks if one.name != event.walk)
    return replace(state, walks=(*others, Walking(event.walk, event.steps, event.at)))


def _open(state: State, name: str) -> Walking:
    if state.walk is None or state.walk.name != name:
        raise ImpossibleEvent(f"an event of {name}: it is not open")
    return state.walk


def _with(state: State, walk: Walking) -> State:
    return replace(state, walks=tuple(walk if one.name == walk.name else one for one in state.walks))


def _settled(state: State, event: sh.StepSettled) -> State:
    walk = _open(state, event.walk)
    if event.step != walk.at + 1:
        raise ImpossibleEvent(f"step {event.step} of {event.walk}: it stands at {walk.at + 1}")
    skipped = tuple(number for number in walk.skipped if number != event.step)
    if event.outcome == "skipped":
        skipped = (*skipped, event.step)
    # The last step stays where it is until the walk-through ends.
    return _with(state, replace(walk, at=min(walk.at + 1, len(walk.steps) - 1), skipped=skipped))


def _back(state: State, event: sh.StepBack) -> State:
    return _with(state, replace(_open(state, event.walk), at=event.step - 1))


def _left(state: State, event: sh.WalkLeft) -> State:
    return _with(state, replace(_open(state, event.walk), left_at=event.at))


def _resumed(state: State, event: sh.WalkResumed) -> State:
    parked = next((one for one in state.walks if one.name == event.walk), None)
    if state.walk is not None or parked is None:
        raise ImpossibleEvent(f"{event.walk} goes on: it was not left, or another is open")
    return _with(state, replace(parked, left_at=None))


def _ended(state: State, event: sh.WalkEnded) -> State:
    walk = _open(state, event.walk)
    return replace(state, walks=tuple(one for one in state.walks if one.name != walk.name))


def _die_warmed(state: State, _event: sh.DieWarmed) -> State:
    if state.batch is None:
        raise ImpossibleEvent("a die warmed without a batch")
    return replace(state, batch=replace(state.batch, die_warm=True))


def _chilled(state: State, event: sh.TrayChilled) -> State:
    name = tray_name(event.batch, event.tray)
    if state.timer(name) is None:
        raise ImpossibleEvent(f"an event of timer {name!r}: there is none")
    return replace(state, timers=tuple(timer for timer in state.timers if timer.name != name))


def _cutter(state: State, event: sh.CutterTold) -> State:
    return replace(state, cutter=CutterSetting(event.speed, event.length_mm))


def shifted(walk: Walking, by: float) -> Walking:
    """A walk-through with its times moved to another boot's clock (s)."""
    left = None if walk.left_at is None else walk.left_at + by
    return replace(walk, began_at=walk.began_at + by, left_at=left)


APPLY: dict[type[Any], Callable[[State, Any], State]] = {
    sh.WalkBegan: _began,
    sh.StepSettled: _settled,
    sh.StepBack: _back,
    sh.WalkLeft: _left,
    sh.WalkResumed: _resumed,
    sh.WalkEnded: _ended,
    sh.DieWarmed: _die_warmed,
    sh.TrayChilled: _chilled,
    sh.CutterTold: _cutter,
}
