"""How the events of printing change the state. Pure; `transitions` names them."""

from dataclasses import replace

from assistant.batch.record.printing import print_events as pr
from assistant.batch.record.printing import print_jobs as jobs
from assistant.batch.record.state import State
from assistant.errors import ImpossibleEvent


def ask(state: State, event: pr.PrintAsked) -> State:
    """One more waits."""
    job = jobs.PrintJob(event.job, event.what, event.batch, event.tray, event.every, event.day)
    return replace(state, prints=jobs.asked(state.prints, job), next_print=event.job + 1)


def end(state: State, event: pr.PrintEnded) -> State:
    """One is printed, or kept."""
    if all(one.job != event.job for one in jobs.waiting(state.prints)):
        raise ImpossibleEvent(f"printing {event.job} ended: it does not wait")
    found = jobs.ended(state.prints, event.job, event.failure, offers=event.offers)
    return replace(state, prints=found)


def try_again(state: State, _event: pr.PrintsTriedAgain) -> State:
    """What was kept waits again."""
    return replace(state, prints=jobs.again(state.prints))
