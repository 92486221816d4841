"""Allergens that a batch leaves in the machine for the next one. Pure.

Changeover: plain, then egg, then coloured, then ink and fish; a flush is not enough for allergens, a clean
down is: common practice, no source. Gluten is in every batch. A recipe names the allergens of all that is in
it: as soon as one addition went in, all that it names count.
"""

from collections.abc import Sequence

from assistant.dough.ingredients import Addition
from assistant.dough.recipe import RecipePlan

CLEANED_BY = "clean down"
"""The walk-through after which nothing is left in the machine."""
_IN_EVERY_BATCH = ("wheat", "rye", "barley", "oats")


def left_behind_by(plan: RecipePlan | None, went_in: Sequence[Addition]) -> tuple[str, ...]:
    """Allergens besides gluten that are in a dough, by the words of its recipe; `went_in`: its additions."""
    if plan is None or (plan.shares and not went_in):
        return ()
    return tuple(one for one in plan.allergens if one not in _IN_EVERY_BATCH)
