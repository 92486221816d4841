"""Allergens that a batch leaves in the machine for the next one. Pure.

Changeover: plain, then egg, then coloured, then ink and fish; a flush is not enough for allergens, a clean
down is: common practice, no source. Gluten is in every batch but those whose recipe is without it; these are
told of it, and a dough with gluten is not. A recipe names the allergens of all that is in it: as soon as one
addition went in, all that it names count.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assistant.dough.ingredients import Addition
from assistant.dough.recipe import RecipePlan

if TYPE_CHECKING:
    from assistant.batch.record.state import State

CLEANED_BY = "clean down"
"""The walk-through after which nothing is left in the machine."""
TAKES_DIE_OUT = (CLEANED_BY, "die change")
"""Walk-throughs after which it is not known which die is in."""
GLUTEN = ("wheat", "rye", "barley", "oats")
"""Cereals with gluten, as allergens name them."""
_PLAIN = ("wheat",)
"""What a dough without a recipe has: semolina."""


def left_behind_by(plan: RecipePlan | None, went_in: Sequence[Addition]) -> tuple[str, ...]:
    """Allergens besides gluten that are in a dough, by the words of its recipe; `went_in`: its additions.

    What has allergens that nobody has looked up yet is named itself.
    """
    if plan is None or (plan.shares and not went_in):
        return ()
    return (*(one for one in plan.allergens if one not in GLUTEN), *plan.unmapped)


def gluten_of(plan: RecipePlan | None) -> tuple[str, ...]:
    """Cereals with gluten that are in a dough that is not without; wheat where its recipe names none."""
    named = () if plan is None else tuple(one for one in plan.allergens if one in GLUTEN)
    return named or _PLAIN


def carried_into(state: "State", before: Sequence[str], *, gluten_free: bool) -> tuple[str, ...]:
    """Allergens that batches before left for the open one, once its flour says whether it has gluten.

    `before`: those that were left for it as it was opened; what of them is no gluten stays.
    """
    gluten = state.gluten_left if gluten_free else ()
    others = (one for one in before if one not in GLUTEN)
    return tuple(dict.fromkeys((*(word for _, words in gluten for word in words), *others)))


def left_behind_before(state: "State", plan: RecipePlan | None, *, gluten_free: bool) -> tuple[str, ...]:
    """Allergens that the batches before have left in the machine, but for those that are in this dough."""
    own = (*plan.allergens, *plan.unmapped) if plan else ()
    gluten = state.gluten_left if gluten_free else ()
    words = [word for _, words in (*gluten, *state.left_behind) for word in words]
    return tuple(word for word in dict.fromkeys(words) if word not in own)
