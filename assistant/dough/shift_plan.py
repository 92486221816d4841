"""The plan of a shift: portions by shape become batches, in their order, with start times. Masses g, times s.

No batch is over the hopper; start times are reckoned back from service.

Order plain, egg, coloured, ink and fish: common practice, no source. A changeover is not an allergen clean.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.dough.hydration import most_flour_g, round_down
from assistant.dough.ingredients import additions_water_g
from assistant.dough.ranges import PORTIONS
from assistant.dough.recipe import RecipePlan
from assistant.dough.yields import batches_for, flour_for_portions_g
from assistant.errors import DoughError

STEP_G = 5.0
"""Flour of a batch is a multiple of this (g)."""
_SEA = frozenset({"fish", "molluscs", "crustaceans"})
_UNCOLOURED = frozenset({"egg", "whole", "yolk", "white", "milk", "salt", "oil", "olive"})


@dataclass(frozen=True, slots=True)
class Order:
    """Portions of a shape that are wanted."""

    die: str
    """The shape, by its die."""
    portions: int
    plan: RecipePlan | None = None
    """Its recipe; None: the kitchen's plain dough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftPace:
    """What the kitchen's machine holds and how long it takes."""

    target_pct: float
    """Hydration of the kitchen's plain dough (%)."""
    portion_g: float
    """Raw portion (g), where a recipe has none."""
    hopper_g: float
    """Product that the hopper holds (g)."""
    loss_pct: float
    """Scrap and purge (% of the dough)."""
    mix_s: float
    """Both mixes of a batch together (s)."""
    rest_s: float
    """Rest of a batch (s), where a recipe has none."""
    extrude_g_per_min: float
    """Dough through the die (g a minute)."""
    changeover_s: float
    """From one die or dough to the next (s)."""


@dataclass(frozen=True, slots=True)
class PlannedBatch:
    """A batch to make."""

    key: str
    """Names it for good."""
    die: str
    recipe: str | None
    """Name of its recipe; None: the kitchen's plain dough."""
    flour_g: float
    water_g: float
    """Water to pour (g), the additions' water taken off."""
    portions: int
    start: str
    """A time of day such as 16:30."""


def rank(plan: RecipePlan | None) -> int:
    """Place in the order of a shift: 0 plain, 1 egg, 2 coloured, 3 ink and fish."""
    if plan is None:
        return 0
    if _SEA.intersection(plan.allergens):
        return 3
    words = {word for share in plan.shares for word in share.name.split()}
    if words - _UNCOLOURED:
        return 2
    return 1 if "egg" in plan.allergens or words & {"egg", "yolk"} else 0


def plan_shift(
    orders: Sequence[Order], pace: ShiftPace, service_s: float, key: str = ""
) -> list[PlannedBatch]:
    """Batches in their order; the last is through the die at `service_s`, seconds of the day.

    Raises DoughError where they can't all be made after midnight.
    """
    found: list[tuple[Order, float, int]] = []
    for order in sorted(
        orders, key=lambda one: (rank(one.plan), one.plan.recipe if one.plan else "", one.die)
    ):
        found += [(order, flour, served) for flour, served in _split(order, pace)]
    starts: list[float] = []
    end, after = service_s, None
    for order, flour, _ in reversed(found):
        if after is not None and (after.die, after.plan) != (order.die, order.plan):
            end -= pace.changeover_s
        dough = flour * _dough_per_flour(order.plan, pace)
        rest = order.plan.rest_s if order.plan and order.plan.rest_s else pace.rest_s
        end -= pace.mix_s + rest + 60.0 * dough / pace.extrude_g_per_min
        starts.append(end)
        after = order
    if end < 0:
        raise DoughError(
            f"it would have to begin {-end / 3600:.1f} hours before midnight; "
            "plan fewer portions or a later service."
        )
    return [
        PlannedBatch(
            f"{key}/{number}",
            order.die,
            order.plan.recipe if order.plan else None,
            flour,
            _pour_g(order.plan, flour, pace),
            served,
            clock_text(start),
        )
        for number, ((order, flour, served), start) in enumerate(zip(found, reversed(starts), strict=True), 1)
    ]


def _split(order: Order, pace: ShiftPace) -> list[tuple[float, int]]:
    """Flour and portions of each batch that an order takes: as even as can be, none over the hopper."""
    PORTIONS.check(order.portions, f"{order.die}: portions")
    portion = (order.plan.portion_g if order.plan else None) or pace.portion_g
    per_flour = _dough_per_flour(order.plan, pace)
    total = flour_for_portions_g(order.portions, portion, pace.loss_pct, 100.0 * (per_flour - 1.0))
    most = round_down(most_flour_g(pace.hopper_g, 100.0 * (per_flour - 1.0)), STEP_G)
    if not most > 0:
        raise DoughError(
            f"{order.die}: a hopper of {pace.hopper_g:g} g holds less than {STEP_G:g} g of flour "
            "and what goes into it; set hopper_g higher, or add less."
        )
    count = batches_for(total, most)
    flour = min(most, math.ceil(total / count / STEP_G - 1e-9) * STEP_G)
    served = [order.portions // count + (index < order.portions % count) for index in range(count)]
    return [(flour, one) for one in served]


def _target_pct(plan: RecipePlan | None, pace: ShiftPace) -> float:
    return plan.target_pct if plan else pace.target_pct


def _dough_per_flour(plan: RecipePlan | None, pace: ShiftPace) -> float:
    """Dough (g) of a gram of flour: water to the target, and the dry matter of the additions."""
    dry = sum(one.grams - one.water_g for one in plan.additions(1.0)) if plan else 0.0
    return 1.0 + _target_pct(plan, pace) / 100.0 + dry


def _pour_g(plan: RecipePlan | None, flour_g: float, pace: ShiftPace) -> float:
    brought = additions_water_g(plan.additions(flour_g)) if plan else 0.0
    return max(0.0, flour_g * _target_pct(plan, pace) / 100.0 - brought)


def clock_text(seconds: float) -> str:
    """A time of day, rounded down to the minute: 16:30."""
    minutes = int(seconds // 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"
