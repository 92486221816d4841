"""What may be something else than it sounds: a number and its twin, one pour that jug and voice report.

Twins (13/30 ... 19/90): that fifteen is heard for fifty is a recorded cause of error: PA-PSRS Patient Safety
Advisory, June 2006 (50 mg given where 15 mg was meant). The remedy, saying the digits too, is common
practice.

The same pour: what the last entry says and what comes now from the other source within `SAME_POUR_S` is one
pour. Where the two differ by more than the scale may be wrong, the cook is asked which it was. An entry is
held against the other source once: what is said of it after that is another pour.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.marks import flour_asked_for_g
from assistant.batch.record import events as ev
from assistant.batch.record.commands import MakeThat
from assistant.batch.record.hopper.entries import OUT, Entry, EntryKind
from assistant.batch.record.state import Batch
from assistant.dough.amounts import Amount

_TEENS = {13: 30, 14: 40, 15: 50, 16: 60, 17: 70, 18: 80, 19: 90}
_TWINS = _TEENS | {ty: teen for teen, ty in _TEENS.items()}


def twin(value: float) -> float | None:
    """The number that this one is heard for: 15 for 50, 115 for 150; None where it has no twin."""
    if not float(value).is_integer() or value <= 0:
        return None
    rest = int(value) % 100
    if rest not in _TWINS:
        return None
    return float(int(value) - rest + _TWINS[rest])


def is_bare_twin(amount: Amount) -> bool:
    """Whether the number is a teen or a ty by itself, and could be misheard: it is said twice then."""
    return not amount.exact and amount.value < 100 and twin(amount.value) is not None


def plausible_twin(
    amount: Amount, grams: float, batch: Batch, kind: EntryKind, *, instead_of: float = 0.0
) -> bool:
    """Whether the twin of a said number could as well be meant at this moment of the batch.

    Cooks pour round figures: a twin counts where it is a multiple of 5 (of 10 from 100 up) and, for water,
    does not pass high. A number that just reaches a mark, or is the flour that was asked for or the addition
    of the recipe, was meant: it is not asked about. `instead_of`: mass (g) that is counted already.
    """
    other = None if amount.exact else twin(amount.value)
    if other is None or other % (5 if other < 100 else 10) != 0:
        return False
    if kind == "scrap" or kind in OUT.values():
        return True
    if kind == "addition":
        return abs(grams - instead_of) > 1.0
    if kind == "flour":
        return abs(grams - instead_of - flour_asked_for_g(batch)) > 1.0
    marks = (
        batch.to_pour_g(batch.low_pct),
        batch.to_pour_g(batch.target_pct),
        batch.to_pour_g(batch.high_pct),
        batch.to_first_pour_g,
    )
    if any(abs(grams - instead_of - mark) <= 1.0 for mark in marks):
        return False
    return grams * other / amount.value - instead_of <= batch.to_pour_g(batch.high_pct)


SAME_POUR_S = 30.0
"""Both report a pour within this (s): lifting, pouring and putting back take some ten, the scale two."""
JUG_ERROR_G = 5.0
"""What the jug scale promises (g): creep, hysteresis and temperature of a 5 kg cell in a kitchen."""


def is_same_pour(d: Draft, batch: Batch, grams: float) -> bool:
    """Whether this water (g) is in the account already, from the other source; says so, or asks which."""
    last = _from_the_other_source(d, batch)
    if last is None:
        return False
    d.happen(ev.EntryWeighed(at=d.now, entry=last.number, grams=grams, source=d.source))
    by_jug = d.source == "jug"
    if abs(grams - last.grams) <= JUG_ERROR_G:
        d.say("jug_agrees" if by_jug else "jug_had_it", "taken", grams=last.grams)
        return True
    key = "ask_jug_differs" if by_jug else "ask_voice_differs"
    d.ask("differs", MakeThat(Amount(grams, exact=True)), key, grams=grams, was=last.grams)
    return True


def rest_is_in(d: Draft, batch: Batch) -> bool:
    """Whether "poured the rest" tells of a pour that the jug has logged already; says so."""
    last = _from_the_other_source(d, batch)
    left = batch.to_pour_g(batch.target_pct)
    if last is None or left > JUG_ERROR_G:
        return False
    d.happen(ev.EntryWeighed(at=d.now, entry=last.number, grams=last.grams + left, source=d.source))
    d.say("jug_had_it", "taken", grams=last.grams)
    return True


def _from_the_other_source(d: Draft, batch: Batch) -> Entry | None:
    """The last entry, where it is water that only the other source has reported, and not long ago."""
    last = batch.entries[-1]
    other = (last.source == "jug") != (d.source == "jug")
    if d.confirmed or last.kind != "water" or last.weighed or not other:
        return None
    return last if d.now - last.at <= SAME_POUR_S else None
