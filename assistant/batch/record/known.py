"""What the kitchen knows beside this batch, handed to `decide` as an argument: its flour's past, its recipes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from assistant.batch.record.steps import WalkThrough
from assistant.dough.lots import Forecast
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import PlannedBatch


def _nothing(_lot: str, _recipe: str | None) -> Forecast | None:
    return None


@dataclass(frozen=True, slots=True)
class Known:
    """What was known when the station came up.

    `lots`: forecast for the next batch of a lot in a recipe, or None; `recipes` and `walks`: by name; `cooking_s`:
    time in the water by shape (s); `plan`: the day's batches in their order. The same within one decision: only a batch that is closed or taken back changes what is known.
    """

    lots: Callable[[str, str | None], Forecast | None] = _nothing
    recipes: Mapping[str, RecipePlan] = field(default_factory=dict)
    walks: Mapping[str, WalkThrough] = field(default_factory=dict)
    cooking_s: Mapping[str, float] = field(default_factory=dict)
    plan: tuple[PlannedBatch, ...] = ()


NOTHING = Known()
