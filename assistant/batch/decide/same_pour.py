"""The jug and the voice may tell of the same pour: then it is one entry. Pure.

What the last entry says and what comes now from the other source, within `SAME_POUR_S`, is one pour. Where the two
differ by more than the scale may be wrong, the cook is asked which it was. An entry is held against the other source
once: what is said of it after that is another pour.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import events as ev
from assistant.batch.record.commands import MakeThat
from assistant.batch.record.state import Batch, Entry
from assistant.dough.amounts import Amount

SAME_POUR_S = 30.0
"""A pour is told by both within this (s): lifting, pouring and putting back take some ten, the scale two."""
JUG_ERROR_G = 5.0
"""What the jug scale promises (g): creep, hysteresis and temperature of a 5 kg cell in a kitchen."""


def is_same_pour(d: Draft, batch: Batch, grams: float) -> bool:
    """Whether this water (g) is in the account already, told by the other source; says so, or asks which it was."""
    last = told_by_the_other(d, batch)
    if last is None:
        return False
    d.happen(ev.EntryWeighed(d.now, last.number, grams, d.source))
    by_jug = d.source == "jug"
    if abs(grams - last.grams) <= JUG_ERROR_G:
        d.say("jug_agrees" if by_jug else "jug_had_it", "taken", grams=last.grams)
        return True
    key = "ask_jug_differs" if by_jug else "ask_voice_differs"
    d.ask("differs", MakeThat(Amount(grams, exact=True)), key, grams=grams, was=last.grams)
    return True


def rest_is_in(d: Draft, batch: Batch) -> bool:
    """Whether "poured the rest" tells of a pour that the jug has logged already; says so."""
    last = told_by_the_other(d, batch)
    if last is None or batch.to_target_g > JUG_ERROR_G:
        return False
    d.happen(ev.EntryWeighed(d.now, last.number, last.grams + batch.to_target_g, d.source))
    d.say("jug_had_it", "taken", grams=last.grams)
    return True


def told_by_the_other(d: Draft, batch: Batch) -> Entry | None:
    """The last entry, where it is water that only the other source has told of, and not long ago."""
    last = batch.entries[-1]
    other = (last.source == "jug") != (d.source == "jug")
    if d.confirmed or last.kind != "water" or last.weighed or not other:
        return None
    return last if d.now - last.at <= SAME_POUR_S else None
