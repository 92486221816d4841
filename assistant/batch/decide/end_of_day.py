"""The end of the day, aloud: what is open first, then what was made, then what still waits."""

import math

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.flour import left_of_plan
from assistant.batch.decide.timing.ringing import say_timer
from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.rules import DayFigures

KILO = 1000.0
"""Flour is planned and ordered by the kilo (g)."""
MANY_BATCHES, MANY_PORTIONS = 10, 100
"""Figures from here on take long to say."""


def say_day(d: Draft) -> None:
    """The day, in two sentences of six seconds; nothing happens by it. What can't wait is the first.

    What has no room is on the sheet of the day: the lots first, then the scrap.
    """
    said = len(d.announcements)
    if d.state.ringing:
        say_timer(d, d.state.ringing[0], d.state.ringing[0].traits.next_step)
    elif d.state.batch is not None:
        d.say("day_open", batch=d.state.batch.number)
    urgent = len(d.announcements) > said
    made = d.known.day()
    if made is None:
        d.say("day_unknown")
        return
    long = made.batches >= MANY_BATCHES or made.portions >= MANY_PORTIONS
    last = None if urgent else _waiting(d, made)
    if last is None and not (urgent or long) and made.lots:
        last = say("day_lots", lots=len(made.lots), lot=made.lots[0])
    if not made.batches:
        d.say("day_nothing")
    elif urgent or (long and last is not None):
        d.say("day_made_short", batches=made.batches, portions=made.portions)
    else:
        d.say("day_made", batches=made.batches, portions=made.portions, scrap=_spoken_g(made.scrap_g))
    if last is not None:
        d.announcements.append(last)


def _waiting(d: Draft, made: DayFigures) -> Announcement | None:
    """What still waits: trays not cold, else clean down that is due, else flour to order, else nothing."""
    trays = sum(timer.kind == "tray" for timer in d.state.timers)
    if trays:
        return say("day_trays", trays=trays)
    unclean = d.state.unclean
    if unclean is not None and d.now >= (unclean.call_at or unclean.due):
        return say("day_unclean")
    wanted = sum(one.flour_g for one in left_of_plan(d.state, d.known.plan))
    order = made.order_g(wanted)
    if order is None and wanted:
        return say("day_wanted", flour=_kilos_g(wanted))
    if order:
        return say("day_order", flour=_kilos_g(order))
    return None


def _kilos_g(grams: float) -> float:
    """A mass (g) up to the next whole kilo."""
    return math.ceil(grams / KILO) * KILO


def _spoken_g(grams: float) -> float:
    """A mass (g) short enough to say: from a kilo on to the nearest hundred. The sheet has it whole."""
    return grams if grams < KILO else round(grams / 100.0) * 100.0
