"""Undo: what the cook said can be taken back, the last first; what the clock did can't be. Pure.

A step keeps the batch as it stood before its event, and the timers that the event set or ended. The event itself
stays in the journal, and its withdrawal beside it.
"""

from dataclasses import replace

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.state import INTERVALS, MIX, REST, State, Undoable, tray_name
from assistant.errors import ImpossibleEvent

UNDOABLE = frozenset(
    {
        "BatchOpened",
        "WaterAdded",
        "FlourAdded",
        "EntryCorrected",
        "TargetSet",
        "LotNamed",
        "RecipeChosen",
        "ConditionTold",
        "CrumbJudged",
        "MixStarted",
        "RestStarted",
        "ExtrudingStarted",
        "DieNamed",
        "ScrapWeighed",
        "TrayFilled",
        "TrayChilled",
        "DieWarmed",
        "PortionsCounted",
        "BatchClosed",
        "BatchDropped",
        "TimerSet",
        "TimerStopped",
        "TimerExtended",
    }
)
_ENDS_INTERVALS = frozenset({"CrumbJudged", "ExtrudingStarted", "BatchClosed", "BatchDropped"})


def _by_the_cook(state: State, event: ev.Event) -> bool:
    """Whether "undo" can take an event back: what the clock did can't be, what the cook said can."""
    name = timer_of(event)
    if isinstance(event, ev.MixEnded | ev.RestEnded) and name is not None:
        timer = state.timer(name)
        return timer is not None and not timer.ringing
    return type(event).__name__ in UNDOABLE


def timer_of(event: ev.Event) -> str | None:
    """Name of the timer that an event is about."""
    match event:
        case ev.MixStarted() | ev.MixEnded():
            return MIX
        case ev.RestStarted() | ev.RestEnded():
            return REST
        case ev.TimerSet() | ev.TimerStopped() | ev.TimerExtended():
            return event.name
        case ev.TrayFilled(due=float()) | sh.TrayChilled():
            return tray_name(event.batch, event.tray)
        case _:
            return None


def _touched(event: ev.Event) -> tuple[str, ...]:
    """Names of the timers that an event sets or ends."""
    name = timer_of(event)
    if name in INTERVALS or type(event).__name__ in _ENDS_INTERVALS:
        return INTERVALS
    return () if name is None else (name,)


def remember(before: State, moved: State, event: ev.Event) -> State:
    """State after an event, with the step by which it can be taken back."""
    if not _by_the_cook(before, event):
        return moved
    touched = _touched(event)
    step = Undoable(
        what=type(event).__name__,
        grams=_grams(event),
        before=before.batch,
        before_marks=(before.next_marks, before.next_lot),
        left=moved.phase,
        before_plan=before.next_plan,
        timer=timer_of(event),
        touched=touched,
        before_timers=tuple(t for t in before.timers if t.name in touched and not t.ringing),
    )
    return replace(moved, undo=(*moved.undo, step)[-moved.undo_depth :])


def withdraw(state: State, event: ev.Withdrawn) -> State:
    """State without the last step that can be undone; raises ImpossibleEvent where that is another."""
    if not state.undo or state.undo[-1].what != event.what:
        raise ImpossibleEvent(f"withdrawal of {event.what}: it is not the last thing that can be undone")
    step = state.undo[-1]
    batch, timers = step.before, state.timers
    went_on = state.phase is not step.left
    if batch is not None and state.batch is not None and went_on:
        # Time went on since (a mix ended, say): the account goes back, the phase and its timer do not.
        batch = replace(batch, phase=state.batch.phase)
    if step.touched and not (went_on and step.touched == INTERVALS):
        timers = (*(t for t in timers if t.name not in step.touched), *step.before_timers)
    marks, lot = step.before_marks
    made = state.made
    if event.what == "BatchClosed" and batch is not None:
        made = tuple(key for key in made if key != batch.planned)
    plan = step.before_plan
    return replace(
        state,
        batch=batch,
        timers=timers,
        undo=state.undo[:-1],
        next_marks=marks,
        next_lot=lot,
        next_plan=plan,
        made=made,
    )


def _grams(event: ev.Event) -> float | None:
    """Mass that undoing this event takes back."""
    match event:
        case ev.WaterAdded() | ev.FlourAdded() | ev.ScrapWeighed():
            return event.grams
        case ev.EntryCorrected():
            return event.was
        case _:
            return None
