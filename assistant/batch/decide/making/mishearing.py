"""What may be something else than it sounds: a number and its twin, one pour that jug and voice report.

Twins (13/30 ... 19/90): that fifteen is heard for fifty is a recorded cause of error: PA-PSRS Patient Safety
Advisory, June 2006 (50 mg given where 15 mg was meant). The remedy, saying the digits too, is common
practice. A keyboard mistakes none for another. By voice the station asks where ear or moment give a reason.

The same pour: what the last entry says and what comes now from the other source within `SAME_POUR_S` is one
pour. Where the two differ by more than the scale may be wrong, the cook is asked which it was. An entry is
held against the other source once: what is said of it after that is another pour.
"""

from dataclasses import fields

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.expected import surprise_of
from assistant.batch.decide.making.marks import flour_asked_for_g
from assistant.batch.record import events as ev
from assistant.batch.record.batch import HALF_GRAM, Batch
from assistant.batch.record.commands import Command, MakeThat, Together
from assistant.batch.record.hopper.entries import OUT, Entry, EntryKind
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


def are_twins(one: Command, other: Command) -> bool:
    """Whether two commands are the same but for a number and its twin."""
    if isinstance(one, Together) and isinstance(other, Together):
        pairs = list(zip(one.commands, other.commands, strict=False))
        differ = [pair for pair in pairs if pair[0] != pair[1]]
        return (
            len(one.commands) == len(other.commands) and bool(differ) and all(are_twins(*p) for p in differ)
        )
    if type(one) is not type(other):
        return False
    values = [(getattr(one, field.name), getattr(other, field.name)) for field in fields(one)]
    differing = [pair for pair in values if pair[0] != pair[1]]
    return len(differing) == 1 and _are_twin_amounts(*differing[0])


def _are_twin_amounts(one: object, other: object) -> bool:
    if not isinstance(one, Amount) or not isinstance(other, Amount):
        return False
    return one.unit == other.unit and twin(one.value) == other.value


def says_a_teen(command: Command) -> bool:
    """Whether an amount of the command ends in a number from thirteen to nineteen, as it was said."""
    if isinstance(command, Together):
        return any(map(says_a_teen, command.commands))
    values = (getattr(command, field.name) for field in fields(command))
    amounts = (value for value in values if isinstance(value, Amount) and not value.exact)
    return any(twin(amount.value) is not None and amount.value % 100 in _TEENS for amount in amounts)


UNLIKELY = 0.4
"""A number this much more unexpected than its twin is asked about, however clearly it was heard.

At 0.4 an odd figure is asked about where its twin is round, at 0.25 so is 115: 0.7 and 1.7 % of a simulated
cook's entries (`tests/bench/hearing/FINDINGS.md`).
"""


def may_be_its_twin(
    d: Draft,
    amount: Amount,
    grams: float,
    batch: Batch,
    kind: EntryKind,
    *,
    instead_of: float | None = None,
) -> bool:
    """Whether the twin of a number that was heard has to be asked about.

    It has to make sense, and something has to speak for it: the ear, or the moment. Of scrap the moment knows
    nothing. `instead_of`: mass (g) of the entry that the number corrects.
    """
    if d.source != "voice" or d.contrasted:
        return False
    other_g = _plausible_twin_g(amount, grams, batch, kind, instead_of or 0.0)
    if other_g is None:
        return False
    if d.unsure or d.twin_near:
        return True
    heard, rival = (surprise_of(batch, kind, one, instead_of=instead_of) for one in (grams, other_g))
    return kind != "scrap" and heard - rival >= UNLIKELY


def _plausible_twin_g(
    amount: Amount, grams: float, batch: Batch, kind: EntryKind, instead_of: float
) -> float | None:
    """Mass (g) of a number's twin, where it could as well be meant at this moment of the batch.

    Cooks pour round figures: a twin counts where it is a multiple of 5 (of 10 from 100 up) and, for water,
    does not pass high. A number that just reaches a mark, or is the flour that was asked for or the addition
    of the recipe, was meant.
    """
    other = None if amount.exact else twin(amount.value)
    if other is None or other % (5 if other < 100 else 10) != 0:
        return None
    other_g = grams * other / amount.value
    if kind == "scrap" or kind in OUT.values():
        return other_g
    if kind == "addition":
        return None if abs(grams - instead_of) <= 1.0 else other_g
    if kind == "flour":
        return None if abs(grams - instead_of - flour_asked_for_g(batch)) <= 1.0 else other_g
    if reaches_a_mark(batch, grams - instead_of):
        return None
    return other_g if other_g - instead_of <= batch.to_pour_g(batch.high_pct) else None


def reaches_a_mark(batch: Batch, grams: float) -> bool:
    """Whether this much more water (g) is just what one of the marks asks for."""
    marks = (batch.low_pct, batch.target_pct, batch.high_pct)
    asked = (*(batch.to_pour_g(pct) for pct in marks), batch.to_first_pour_g, batch.to_next_g)
    return any(abs(grams - mark) <= 1.0 for mark in asked)


AGAIN_S = 8.0
"""The same mass from the same side within this (s) is sooner said twice than poured twice.

To fill a jug and to pour it takes longer (common practice, no source).
"""


def is_said_again(d: Draft, batch: Batch, grams: float, kind: EntryKind) -> bool:
    """Whether this mass (g) is what the last entry says, which was made just now.

    Jug and cook are two sides: what both tell of is one pour (`is_same_pour`). Of an addition that is in
    it is asked anyway, and scrap comes in pieces.
    """
    last = batch.entries[-1]
    if kind in ("scrap", "addition") or last.kind != kind or last.number == batch.entries[0].number:
        return False
    same_side = (last.source == "jug") == (d.source == "jug")
    return same_side and abs(grams - last.grams) <= HALF_GRAM and d.now - last.at <= AGAIN_S


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
    left = batch.left_g
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
