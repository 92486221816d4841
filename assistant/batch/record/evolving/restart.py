"""The station came up again: what it knew goes on, by the clock of the new boot. Pure."""

from dataclasses import replace

from assistant.batch.record import events as ev
from assistant.batch.record.batch import Batch
from assistant.batch.record.evolving.food_clocks import moved_by, restarted, unclean_restarted
from assistant.batch.record.evolving.shift_changes import shifted
from assistant.batch.record.press.at_the_die import moved
from assistant.batch.record.printing.print_jobs import restarted as restarted_prints
from assistant.batch.record.state import State, Timer


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

    undo = tuple(
        replace(
            step,
            at=step.at + by,
            before=batch(step.before),
            before_timers=tuple(timer(t) for t in step.before_timers),
        )
        for step in state.undo
    )
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
        undo=undo,
    )
