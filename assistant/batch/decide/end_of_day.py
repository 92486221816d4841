"""The end of the day, aloud: what is open first, then what was made, then what still waits."""

import math

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.flour import left_of_plan
from assistant.batch.decide.timing.ringing import say_timer

KILO = 1000.0
"""Flour is ordered by the kilo (g)."""


def say_day(d: Draft) -> None:
    """The day, in two sentences; nothing happens by it. Where something can't wait it is the first."""
    said = len(d.announcements)
    if d.state.ringing:
        say_timer(d, d.state.ringing[0], d.state.ringing[0].traits.next_step)
    elif d.state.batch is not None:
        d.say("day_open", batch=d.state.batch.number)
    first = len(d.announcements) == said
    made = d.known.day()
    if made is None:
        d.say("day_unknown")
        return
    if made.batches:
        d.say("day_made", batches=made.batches, portions=made.portions, scrap=_spoken_g(made.scrap_g))
    else:
        d.say("day_nothing")
    if not first:
        return
    trays = sum(timer.kind == "tray" for timer in d.state.timers)
    wanted = sum(one.flour_g for one in left_of_plan(d.state, d.known.plan))
    if trays:
        d.say("day_trays", trays=trays)
    elif (order := made.order_g(wanted)) is None:
        if wanted:
            d.say("day_wanted", flour=wanted)
    elif order > 0:
        d.say("day_order", flour=math.ceil(order / KILO) * KILO)
    if len(d.announcements) == said + 1 and made.lots:
        d.say("day_lots", lots=len(made.lots), lot=made.lots[0])


def _spoken_g(grams: float) -> float:
    """A mass (g) short enough to say: from a kilo on to the nearest hundred. The sheet has it whole."""
    return grams if grams < 1000.0 else round(grams / 100.0) * 100.0
