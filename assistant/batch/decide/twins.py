"""Numbers that are heard for one another: 13/30 ... 19/90.

That fifteen is heard for fifty is a recorded cause of error: PA-PSRS Patient Safety Advisory, June 2006
(50 mg given where 15 mg was meant). The remedy, saying the digits too, is common practice.
"""

from assistant.batch.decide.marks import flour_asked_for_g
from assistant.batch.record.state import Batch, EntryKind
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
    does not pass high. A number that just reaches a mark, or is the flour that was asked for, was meant: it is not
    asked about. `instead_of`: mass (g) of the entry that the number corrects.
    """
    other = None if amount.exact else twin(amount.value)
    if other is None or other % (5 if other < 100 else 10) != 0:
        return False
    if kind == "scrap":
        return True
    if kind == "flour":
        return abs(grams - instead_of - flour_asked_for_g(batch)) > 1.0
    marks = (
        batch.to_low_g,
        batch.to_target_g,
        batch.to_high_g,
        batch.first_pour_g - batch.water_g,
    )
    if any(abs(grams - instead_of - mark) <= 1.0 for mark in marks):
        return False
    return grams * other / amount.value - instead_of <= batch.to_high_g
