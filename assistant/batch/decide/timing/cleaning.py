"""Clean down: called once before it is due, told when asked, and again when a batch is opened past it."""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import shift_events as sh
from assistant.batch.record.clocks.food_rules import Unclean

JUST_DUE_S = 60.0
"""Due for less than this (s) is due now."""


def call_clean_down(d: Draft, later: float | None) -> None:
    """Call it, or put that off to `later`."""
    unclean = d.state.unclean
    if unclean is None:
        return
    d.happen(sh.CleanDownCalled(at=d.now, batch=unclean.batch, due=unclean.due, again_at=later))
    if later is None:
        say_unclean(d, unclean)


def say_unclean(d: Draft, unclean: Unclean) -> None:
    """What is left until clean down is due, or since when it is; nothing certain after a power cut."""
    left = unclean.due - d.now
    if not unclean.certain:
        d.say("clean_unsure")
    elif left > 0:
        d.say("clean_soon", seconds=left)
    elif left > -JUST_DUE_S:
        d.say("clean_due")
    else:
        d.say("clean_late", seconds=-left)


def say_overdue(d: Draft) -> bool:
    """Say that clean down is due, where it is and is to be called; whether it was said.

    Since when is not said: after a night nobody asks by how much.
    """
    unclean = d.state.left_unclean
    if unclean is None or unclean.due > d.now or unclean.call_at is None:
        return False
    d.say("clean_before", batch=unclean.batch)
    return True
