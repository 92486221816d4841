"""The plan of a shift: portions by shape make batches, in their order, with start times. Masses g, times s.

No batch is over the hopper; start times are reckoned back from service.

Order plain, egg, coloured, ink and fish: common practice, no source. A changeover is no allergen clean.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.dough.hydration import round_down
from assistant.dough.ingredients import additions_water_g
from assistant.dough.ranges import positive
from assistant.dough.recipe import Plan
from assistant.dough.yields import batches_for, flour_for_portions_g, most_flour_for_hopper_g
from assistant.errors import DoughError

STEP_G = 5.0
"""Flour of a batch is a multiple of this (g)."""
_SEA = frozenset({"fish", "molluscs", "crustaceans"})
_UNCOLOURED = frozenset({"egg", "whole", "yolk", "white", "milk", "salt", "oil", "olive"})


@dataclass(frozen=True, slots=True)
class Order:
    """So many portions of a shape; `plan`: its recipe, or None for the house's dough."""

    die: str
    portions: int
    plan: Plan | None = None


@dataclass(frozen=True, slots=True)
class Pace:
    """What the kitchen's machine holds and how long it takes; `loss_pct`: scrap and purge in percent of the dough."""

    target_pct: float
    portion_g: float
    hopper_g: float
    loss_pct: float
    mix_s: float
    rest_s: float
    extrude_g_per_min: float
    changeover_s: float


@dataclass(frozen=True, slots=True)
class PlannedBatch:
    """A batch to make; `key` names it for good, `start` is a time of day such as 16:30. `water_g`: to pour."""

    key: str
    die: str
    recipe: str | None
    flour_g: float
    water_g: float
    portions: int
    start: str


def rank(plan: Plan | None) -> int:
    """Place in the order of a shift: 0 plain, 1 egg, 2 coloured, 3 ink and fish."""
    if plan is None:
        return 0
    if _SEA.intersection(plan.allergens):
        return 3
    words = {word for share in plan.shares for word in share.name.split()}
    if words - _UNCOLOURED:
        return 2
    return 1 if "egg" in plan.allergens or words & {"egg", "yolk"} else 0


def plan_shift(orders: Sequence[Order], pace: Pace, service_s: float, key: str = "") -> list[PlannedBatch]:
    """Batches in their order; the last is through the die at `service_s`, seconds of the day.

    Raises DoughError where they can't all be made since midnight.
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
        end -= pace.mix_s + rest + 60.0 * dough / positive("extruding", pace.extrude_g_per_min, "g a minute")
        starts.append(end)
        after = order
    if end < 0:
        raise DoughError(
            f"it would have to begin {-end / 3600:.1f} hours before midnight; plan fewer portions or a later service."
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


def _split(order: Order, pace: Pace) -> list[tuple[float, int]]:
    """Flour and portions of each batch that an order takes: as even as can be, none over the hopper."""
    if order.portions < 1:
        raise DoughError(f"{order.die}: {order.portions} portions; at least 1 is needed.")
    portion = (order.plan.portion_g if order.plan else None) or pace.portion_g
    per_flour = _dough_per_flour(order.plan, pace)
    total = flour_for_portions_g(order.portions, portion, pace.loss_pct, 100.0 * (per_flour - 1.0))
    most = round_down(most_flour_for_hopper_g(pace.hopper_g, 100.0 * (per_flour - 1.0)), STEP_G)
    count = batches_for(total, positive("flour that the hopper holds", most))
    flour = min(most, math.ceil(total / count / STEP_G - 1e-9) * STEP_G)
    served = [order.portions // count + (index < order.portions % count) for index in range(count)]
    return [(flour, one) for one in served]


def _target_pct(plan: Plan | None, pace: Pace) -> float:
    return plan.target_pct if plan else pace.target_pct


def _dough_per_flour(plan: Plan | None, pace: Pace) -> float:
    """Dough (g) of a gram of flour: water to the target, and what the additions bring beside theirs."""
    dry = sum(one.grams - one.water_g for one in plan.additions(1.0)) if plan else 0.0
    return 1.0 + _target_pct(plan, pace) / 100.0 + dry


def _pour_g(plan: Plan | None, flour_g: float, pace: Pace) -> float:
    brought = additions_water_g(plan.additions(flour_g)) if plan else 0.0
    return max(0.0, flour_g * _target_pct(plan, pace) / 100.0 - brought)


def clock_text(seconds: float) -> str:
    """A time of day, rounded down to the minute: 16:30."""
    minutes = int(seconds // 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"
