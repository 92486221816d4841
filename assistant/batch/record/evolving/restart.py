"""The station came up again: what it knew goes on, by the clock of the new boot. Pure."""

from collections.abc import Callable
from dataclasses import replace

from assistant.batch.record import events as ev
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks.clock_events import TimeOffKnown, TimeTold
from assistant.batch.record.clocks.time_off import TimeOff
from assistant.batch.record.evolving.food_clocks import moved_by, restarted, unclean_restarted
from assistant.batch.record.evolving.shift_changes import shifted
from assistant.batch.record.press.at_the_die import moved
from assistant.batch.record.printing.print_jobs import restarted as restarted_prints
from assistant.batch.record.state import State, Timer, Undoable


def start(state: State, event: ev.StationStarted) -> State:
    """All times move to the new boot's clock; a question that was open is settled before."""
    by = event.shift

    def timer(old: Timer) -> Timer:
        return replace(
            old,
            due=old.due + by,
            warn_at=moved_by(old.warn_at, by),
            later=tuple(moment + by for moment in old.later),
            next_call=old.next_call + by,
            certain=old.certain and (event.certain or old.ringing),
        )

    def batch(old: Batch | None) -> Batch | None:
        if old is None:
            return None
        return restarted(old, by, certain=event.certain)

    return replace(
        state,
        batch=batch(state.batch),
        timers=tuple(timer(t) for t in state.timers),
        walks=tuple(shifted(walk, by) for walk in state.walks),
        ready_call_at=moved_by(state.ready_call_at, by),
        left_unclean=unclean_restarted(state.left_unclean, by, certain=event.certain),
        clean_again_at=moved_by(state.clean_again_at, by),
        exits_before=moved(state.exits_before, by) if event.certain else (),
        prints=restarted_prints(state.prints),
        undo=_undo(state, lambda at: at + by, batch, timer),
        time_off=_time_off(state.time_off, event),
        # Another start of the same boot moves nothing: what the cook told holds.
        clock_told=state.clock_told and event.certain and by == 0.0,
    )


def tell_time(state: State, _event: TimeTold) -> State:
    """The time is what the cook told, till the next boot."""
    return replace(state, clock_told=True)


def _time_off(before: TimeOff | None, event: ev.StationStarted) -> TimeOff | None:
    """What the clock may yet tell after this start."""
    if before is None:
        known = event.known
        return None if event.certain or known is None else TimeOff(event.at, known)
    known, again = before.known, moved_by(before.again, event.shift)
    return TimeOff(
        before.since + event.shift,
        replace(known, at=known.at + event.shift),
        again if event.certain else event.at,
    )


def know_time_off(state: State, event: TimeOffKnown) -> State:
    """What was told before the start is so much longer ago; what rang in doubt and is not up, runs on.

    Where the station was off twice, what lies between is still as uncertain as it was.
    """

    def ago(at: float) -> float:
        return at - event.off if at <= event.since else at

    def timer(old: Timer) -> Timer:
        if old.certain or old.due - old.seconds > event.since:
            return old
        due, warn_at = old.due - event.off, moved_by(old.warn_at, -event.off)
        moments = [at for at in (warn_at, *(one - event.off for one in old.later)) if at is not None]
        ahead = tuple(at for at in moments if at > event.at)
        new = replace(old, due=due, warn_at=ahead[0] if ahead else None, later=ahead[1:], certain=True)
        new = replace(new, doubtful=False, next_call=event.at if old.doubtful else old.next_call)
        return replace(new, ringing=False, calls=0) if new.ringing and due > event.at else new

    def batch(old: Batch | None) -> Batch | None:
        if old is None:
            return None
        return replace(
            old,
            opened_at=ago(old.opened_at),
            entries=tuple(replace(entry, at=ago(entry.at)) for entry in old.entries),
            unclean_since=None if old.unclean_since is None else ago(old.unclean_since),
            time_certain=old.time_certain or event.wholly,
        )

    unclean = state.left_unclean
    if unclean is not None:
        unclean = replace(unclean, since=ago(unclean.since), certain=unclean.certain or event.wholly)
    return replace(
        state,
        batch=batch(state.batch),
        timers=tuple(timer(t) for t in state.timers),
        walks=tuple(replace(walk, began_at=ago(walk.began_at)) for walk in state.walks),
        left_unclean=unclean,
        undo=_undo(state, ago, batch, timer),
        time_off=None,
    )


def _undo(
    state: State,
    moment: Callable[[float], float],
    batch: Callable[[Batch | None], Batch | None],
    timer: Callable[[Timer], Timer],
) -> tuple[Undoable, ...]:
    """What can be taken back, with all its times moved."""
    return tuple(
        replace(
            step,
            at=moment(step.at),
            before=batch(step.before),
            before_timers=tuple(timer(t) for t in step.before_timers),
        )
        for step in state.undo
    )
