"""States along the events of one batch, which are a fragment of the journal: what came before is not in them.

A batch's events may be about what was there before it opened: a timer, a tray of another batch. Between its
closing and the withdrawal of that, others may have happened. What an event needs of these is put into the
state before it, so that `evolve` can follow; nothing of that changes the batch.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.clocks.clock_events import TimerDoubted
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.state import State, Timer
from assistant.batch.record.timer_kinds import tray_name
from assistant.journal.reader import Passage
from assistant.ports import Stamp

_BESIDE_A_BATCH = (
    *(ev.QuestionAsked, ev.QuestionSettled, ev.ListeningSet, ev.LoudnessSet, ev.PaceSet),
    *(sh.CutterTold, sh.CookNamed),
    *(sh.WalkBegan, sh.StepSettled, sh.StepBack, sh.WalkLeft, sh.WalkResumed, sh.WalkEnded),
)
"""Events that change nothing of the account, of timers, or of what can be undone."""


def passages(events: Iterable[tuple[Stamp, ev.Event]]) -> Iterator[Passage]:
    """The events of one batch, oldest first from its opening on, each between two states."""
    state = State()
    for stamp, event in events:
        before = _with_what_it_needs(state, event)
        state = _beside(before, event) if isinstance(event, _BESIDE_A_BATCH) else evolve(before, event)
        yield stamp, before, event, state


def _beside(state: State, event: ev.Event) -> State:
    """The state after an event beside the batch: the press stands still while a walk-through begins."""
    if state.batch is None or not isinstance(event, sh.WalkBegan | sh.WalkResumed):
        return state
    return replace(state, batch=replace(state.batch, at_die=state.batch.at_die.stopped()))


def _with_what_it_needs(state: State, event: ev.Event) -> State:
    """The state with what the event is about, where that is not of this batch."""
    match event:
        case ev.WaterAdded() | ev.FlourAdded() | ev.ScrapWeighed() | hop.AdditionAdded() | hop.TakenOut():
            return replace(state, next_entry=event.entry)
        case ev.EntryCorrected() | ev.EntryWeighed():
            return _with_entry(state, event.entry)
        case sh.TrayChilled():
            return _with_timer(state, tray_name(event.batch, event.tray), event.at)
        case (
            ev.TimerExtended()
            | ev.TimerStopped()
            | ev.TimerWarned()
            | ev.TimerRang()
            | ev.TimerCalled()
            | ev.TimerAcknowledged()
        ):
            return _with_timer(state, event.name, event.at)
        case TimerDoubted():
            others = tuple(timer for timer in state.timers if timer.name != event.name)
            rang = state.timer(event.name) or Timer(event.name, "tray", 0.0, event.at)
            return replace(state, timers=(*others, replace(rang, ringing=True, doubtful=True)))
        case ev.Withdrawn():
            return _with_step(state, event.what)
        case _:
            return state


def _with_entry(state: State, number: int) -> State:
    """The entry of the opening has no number in its event: one that no other entry has is its own."""
    batch = state.batch
    if batch is None or any(entry.number == number for entry in batch.entries):
        return state
    first, *rest = batch.entries
    return replace(state, batch=replace(batch, entries=(replace(first, number=number), *rest)))


def _with_timer(state: State, name: str, at: float) -> State:
    if state.timer(name) is not None:
        return state
    return replace(state, timers=(*state.timers, Timer(name, "named", 0.0, at)))


def _with_step(state: State, what: str) -> State:
    """What is newer than the last step of this name can't be undone any more: its timer rang meanwhile."""
    steps = state.undo
    while steps and steps[-1].what != what:
        steps = steps[:-1]
    return replace(state, undo=steps) if steps else state
