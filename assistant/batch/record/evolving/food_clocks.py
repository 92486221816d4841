"""How the clocks of food safety run: a dough from its first wet contact, the machine until it is clean."""

from dataclasses import replace

from assistant.batch.record import shift_events as sh
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks.clock_events import TimerDoubted
from assistant.batch.record.clocks.food_rules import Unclean
from assistant.batch.record.state import State
from assistant.errors import ImpossibleEvent


def dough_touches(batch: Batch, at: float) -> Batch:
    """A wet dough touches the machine: from now on it is unclean, unless it was before."""
    if batch.wet_at is None or batch.unclean_since is not None:
        return batch
    return replace(batch, unclean_since=at)


def cleaned(state: State) -> State:
    """The machine is clean. What is taken back later does not make it unclean again."""

    def clean(batch: Batch | None) -> Batch | None:
        return None if batch is None else replace(batch, unclean_since=None)

    undo = tuple(replace(step, before=clean(step.before)) for step in state.undo)
    return replace(
        state,
        batch=clean(state.batch),
        left_unclean=None,
        clean_called=None,
        clean_again_at=None,
        undo=undo,
    )


def call_clean_down(state: State, event: sh.CleanDownCalled) -> State:
    """Clean down was called, once, or that was put off."""
    if event.again_at is not None:
        return replace(state, clean_again_at=event.again_at)
    return replace(state, clean_called=event.batch, clean_again_at=None)


def run_on(state: State, event: TimerDoubted) -> State:
    """A timer that rang because it may be over does not ring any more, and runs till it certainly is."""
    timer = state.timer(event.name)
    if timer is None or not (timer.ringing and timer.doubtful):
        raise ImpossibleEvent(f"timer {event.name!r} was doubted: it does not ring in doubt")
    quiet = replace(timer, ringing=False, calls=0, doubtful=False)
    return replace(state, timers=(*(one for one in state.timers if one.name != event.name), quiet))


def restarted(batch: Batch, by: float, *, certain: bool) -> Batch:
    """A batch with its times moved to another boot's clock (s); `certain`: whether by how much is known."""
    return replace(
        batch,
        opened_at=batch.opened_at + by,
        entries=tuple(replace(entry, at=entry.at + by) for entry in batch.entries),
        unclean_since=moved_by(batch.unclean_since, by),
        at_die=batch.at_die.restarted(by),
        time_certain=batch.time_certain and (certain or batch.wet_at is None),
    )


def unclean_restarted(unclean: Unclean | None, by: float, *, certain: bool) -> Unclean | None:
    """The same for a machine that a batch before has left unclean."""
    if unclean is None:
        return None
    return replace(unclean, since=unclean.since + by, certain=unclean.certain and certain)


def moved_by(moment: float | None, by: float) -> float | None:
    """A time, where there is one, on another boot's clock (s)."""
    return None if moment is None else moment + by
