"""How each event of the shift around the batch changes the state. Pure; `transitions` names them."""

from dataclasses import replace

from assistant.batch.record import shift_events as sh
from assistant.batch.record.evolving.food_clocks import cleaned, moved_by
from assistant.batch.record.hopper.leftovers import CLEANED_BY, TAKES_DIE_OUT
from assistant.batch.record.press import press_events as press
from assistant.batch.record.state import CutterSetting, State
from assistant.batch.record.steps import Walking
from assistant.batch.record.timer_kinds import tray_name
from assistant.errors import ImpossibleEvent


def begin_walk(state: State, event: sh.WalkBegan) -> State:
    """A walk-through is open at its first step."""
    if state.walk is not None:
        raise ImpossibleEvent(f"{event.walk} began: {state.walk.name} is still open")
    others = tuple(one for one in state.walks if one.name != event.walk)
    return replace(_stopped(state), walks=(*others, Walking(event.walk, event.steps, event.at)))


def settle_step(state: State, event: sh.StepSettled) -> State:
    """The open step was done or skipped; the last one stays open until the walk-through ends."""
    walk = _open(state, event.walk)
    if event.step != walk.at + 1:
        raise ImpossibleEvent(f"step {event.step} of {event.walk}: it stands at {walk.at + 1}")
    skipped = tuple(number for number in walk.skipped if number != event.step)
    if event.outcome == "skipped":
        skipped = (*skipped, event.step)
    return _with(state, replace(walk, at=min(walk.at + 1, len(walk.steps) - 1), skipped=skipped))


def step_back(state: State, event: sh.StepBack) -> State:
    """An earlier step is open again."""
    return _with(state, replace(_open(state, event.walk), at=event.step - 1))


def leave_walk(state: State, event: sh.WalkLeft) -> State:
    """The walk-through waits where it was left."""
    return _with(state, replace(_open(state, event.walk), left_at=event.at))


def resume_walk(state: State, event: sh.WalkResumed) -> State:
    """A walk-through that was left is open again."""
    parked = next((one for one in state.walks if one.name == event.walk), None)
    if state.walk is not None or parked is None:
        raise ImpossibleEvent(f"{event.walk} goes on: it was not left, or another is open")
    return _with(_stopped(state), replace(parked, left_at=None))


def end_walk(state: State, event: sh.WalkEnded) -> State:
    """No walk-through is open; a whole clean down leaves nothing of the batches before it in the machine."""
    walk = _open(state, event.walk)
    others = tuple(one for one in state.walks if one.name != walk.name)
    over = replace(state, walks=others, die_before=None if walk.name in TAKES_DIE_OUT else state.die_before)
    if walk.name != CLEANED_BY or event.skipped:
        return over
    return cleaned(replace(over, left_behind=(), gluten_left=()))


def warm_die(state: State, _event: sh.DieWarmed) -> State:
    """Trays may be filled."""
    if state.batch is None:
        raise ImpossibleEvent("a die warmed without a batch")
    return replace(state, batch=replace(state.batch, die_warm=True))


def mention_crumb(state: State, event: sh.CrumbLeft) -> State:
    """That the crumb waits is not mentioned again, unless it was put off."""
    return replace(state, ready_call_at=event.again_at)


def chill_tray(state: State, event: sh.TrayChilled) -> State:
    """The tray's clock is gone."""
    name = tray_name(event.batch, event.tray)
    if state.timer(name) is None:
        raise ImpossibleEvent(f"an event of timer {name!r}: there is none")
    return replace(state, timers=tuple(timer for timer in state.timers if timer.name != name))


def call_slow(state: State, event: press.TraysSlowed) -> State:
    """Slow trays are called once in a batch."""
    return replace(state, slow_called=event.batch)


def clean_die(state: State, _event: press.DieCleaned) -> State:
    """A cold die whose trays are looked at anew; the rest of the machine is as it was."""
    if state.batch is None:
        return state
    batch = replace(state.batch, die_warm=False, at_die=state.batch.at_die.cleaned())
    return replace(state, batch=batch, slow_called=None)


def set_cutter(state: State, event: sh.CutterTold) -> State:
    """Speed of the cutter, and length of its pieces."""
    return replace(state, cutter=CutterSetting(event.speed, event.length_mm))


def name_cook(state: State, event: sh.CookNamed) -> State:
    """Who cooks, till another is named."""
    return replace(state, cook=event.cook)


def shifted(walk: Walking, by: float) -> Walking:
    """A walk-through with its times moved to another boot's clock (s)."""
    return replace(walk, began_at=walk.began_at + by, left_at=moved_by(walk.left_at, by))


def _stopped(state: State) -> State:
    """The press stands still while somebody walks through something."""
    batch = state.batch
    return state if batch is None else replace(state, batch=replace(batch, at_die=batch.at_die.stopped()))


def _open(state: State, name: str) -> Walking:
    if state.walk is None or state.walk.name != name:
        raise ImpossibleEvent(f"an event of {name}: it is not open")
    return state.walk


def _with(state: State, walk: Walking) -> State:
    return replace(state, walks=tuple(walk if one.name == walk.name else one for one in state.walks))
