"""Undo: what the cook said can be taken back, the last first; what the clock did can't be. Pure.

A step keeps the batch as it was before its event, and the timers that the event set or ended. The event
itself stays in the journal, and its withdrawal beside it.
"""

from dataclasses import replace

from assistant.batch.record import events as ev
from assistant.batch.record.phases import Row
from assistant.batch.record.state import State, Undoable
from assistant.batch.record.timer_kinds import INTERVALS
from assistant.errors import ImpossibleEvent


def remember(before: State, moved: State, event: ev.Event, row: Row) -> State:
    """State after an event, with the step by which it can be taken back."""
    name = row.timer(event)
    if row.undone is None or (row.undone.unless_by_clock and not _runs(before, name)):
        return moved
    touched = _touched(row, name)
    step = Undoable(
        what=type(event).__name__,
        at=event.at,
        grams=None if row.undone.mass is None else getattr(event, row.undone.mass),
        before=before.batch,
        before_marks=(before.next_marks, before.next_lot),
        left=moved.phase,
        before_plan=before.next_plan,
        before_made_of=before.made_of,
        timer=name,
        touched=touched,
        before_timers=tuple(t for t in before.timers if t.name in touched and not t.ringing),
        joined=event.joined,
    )
    return replace(moved, undo=(*moved.undo, step)[-moved.undo_depth :])


def _runs(state: State, name: str | None) -> bool:
    """Whether a timer of this name runs, and does not ring."""
    timer = None if name is None else state.timer(name)
    return timer is not None and not timer.ringing


def _touched(row: Row, name: str | None) -> tuple[str, ...]:
    """Names of the timers that an event sets or ends."""
    if row.ends_intervals or name in INTERVALS:
        return INTERVALS
    return () if name is None else (name,)


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
    made, behind, unclean = state.made, state.left_behind, state.left_unclean
    exits, gluten = state.exits_before, state.gluten_left
    if state.batch is None and batch is not None:
        # A batch that was ended is open again: its place in the day's plan is not made yet, and what it
        # leaves in the machine is not known yet.
        made = tuple(key for key in made if key != batch.planned)
        behind = tuple(one for one in behind if one[0] != batch.number)
        gluten = tuple(one for one in gluten if one[0] != batch.number)
        exits = tuple(one for one in exits if one.batch != batch.number)
        unclean = None if unclean is not None and unclean.batch == batch.number else unclean
    return replace(
        state,
        batch=batch,
        timers=timers,
        undo=state.undo[:-1],
        next_marks=marks,
        next_lot=lot,
        next_plan=step.before_plan,
        made_of=step.before_made_of,
        made=made,
        left_behind=behind,
        left_unclean=unclean,
        exits_before=exits,
        gluten_left=gluten,
    )
