"""The plan of a shift: portions by shape become batches, in their order, with start times. Masses g, times s.

Every batch makes the portions that it is planned for, also when its water is weighed in whole grams, with at
most `STEP_G` of flour more than that takes. No batch is over the hopper, or under what the station takes for
a batch. Start times are reckoned back from service.

Order plain, egg, coloured, ink and fish: common practice, no source. A changeover is not an allergen clean.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from assistant.dough.hydration import most_flour_g, round_down
from assistant.dough.ingredients import additions_water_g
from assistant.dough.ranges import BATCH_FLOUR_G, PORTIONS
from assistant.dough.recipe import RecipePlan
from assistant.dough.yields import batches_for, flour_for_portions_g, net_dough_g, portions
from assistant.errors import DoughError

STEP_G = 5.0
"""Flour of a batch is a multiple of this (g)."""
NO_SHAPE = "pasta"
"""Stands for the shape where an order names a recipe alone."""
_HALF_GRAM = 0.5
"""Water is weighed in whole grams: a dough may be this much lighter than reckoned (g)."""
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
    first_mix_s: float
    """Mix after the first pour (s), where a recipe has none."""
    target_mix_s: float
    """Mix once the target is reached (s), where a recipe has none."""
    rest_s: float
    """Rest of a batch (s), where a recipe has none."""
    extrude_g_per_min: float
    """Dough through a die of which too little is known (g a minute)."""
    changeover_s: float
    """From one die or dough to the next (s)."""
    learned_g_per_min: Mapping[str, float] = field(default_factory=dict)
    """Dough through each die that is known well enough, by its name (g a minute)."""


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

    Orders of one shape in one dough are made together. Raises DoughError where they can't all be made after
    midnight.
    """
    found: list[tuple[Order, float, int]] = []
    for order in sorted(
        _together(orders), key=lambda one: (rank(one.plan), one.plan.recipe if one.plan else "", one.die)
    ):
        found += [(order, flour, served) for flour, served in _split(order, pace)]
    starts: list[float] = []
    end, after = service_s, None
    for order, flour, _ in reversed(found):
        if after is not None and (after.die, after.plan) != (order.die, order.plan):
            end -= pace.changeover_s
        end -= batch_times(order.plan, order.die, flour, pace).all_s
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


def _together(orders: Sequence[Order]) -> list[Order]:
    """One order for each shape and dough."""
    found: dict[tuple[str, RecipePlan | None], Order] = {}
    for order in orders:
        PORTIONS.check(order.portions, f"{order.die}: portions")
        same = found.get((order.die, order.plan))
        count = order.portions + (same.portions if same else 0)
        found[order.die, order.plan] = replace(
            order, portions=int(PORTIONS.check(count, f"{order.die}: portions"))
        )
    return list(found.values())


def _split(order: Order, pace: ShiftPace) -> list[tuple[float, int]]:
    """Flour and portions of each batch that an order takes: as few as can be, as even as can be."""
    portion = (order.plan.portion_g if order.plan else None) or pace.portion_g
    per_flour = _dough_per_flour(order.plan, pace)
    most = round_down(min(most_flour_g(pace.hopper_g, 100.0 * (per_flour - 1.0)), BATCH_FLOUR_G.most), STEP_G)
    if most < BATCH_FLOUR_G.least:
        raise DoughError(
            f"{order.die}: a hopper of {pace.hopper_g:g} g holds less than {BATCH_FLOUR_G.least:g} g of "
            "flour and what goes into it; set hopper_g higher, or add less."
        )
    at_most = portions(net_dough_g(most * per_flour - _HALF_GRAM, pace.loss_pct), portion)
    if at_most < 1:
        raise DoughError(
            f"{order.die}: a hopper of {pace.hopper_g:g} g makes no portion of {portion:g} g; "
            "set hopper_g higher, or portion_g lower."
        )
    count = batches_for(order.portions, at_most)
    served = [order.portions // count + (index < order.portions % count) for index in range(count)]
    return [(_flour_g(one, portion, per_flour, pace), one) for one in served]


def _flour_g(served: int, portion_g: float, per_flour: float, pace: ShiftPace) -> float:
    """Flour of a batch (g) for these portions: the next step up from what they take."""
    least = flour_for_portions_g(served, portion_g, pace.loss_pct, 100.0 * (per_flour - 1.0))
    least += _HALF_GRAM / per_flour
    return max(BATCH_FLOUR_G.least, math.ceil(least / STEP_G - 1e-9) * STEP_G)


@dataclass(frozen=True, slots=True)
class BatchTimes:
    """How long each part of a batch takes (s), in their order."""

    mix_s: float
    """Both mixes."""
    rest_s: float
    press_s: float
    """Its way through the die."""

    @property
    def all_s(self) -> float:
        """All of it."""
        return self.mix_s + self.rest_s + self.press_s


def batch_times(plan: RecipePlan | None, die: str, flour_g: float, pace: ShiftPace) -> BatchTimes:
    """How long a batch of this recipe takes (None: the plain dough), through this die."""
    own = (plan.first_mix_s, plan.target_mix_s, plan.rest_s) if plan else (None, None, None)
    kitchens = (pace.first_mix_s, pace.target_mix_s, pace.rest_s)
    first_s, target_s, rest_s = (
        usual if one is None else one for one, usual in zip(own, kitchens, strict=True)
    )
    rate = pace.learned_g_per_min.get(die, pace.extrude_g_per_min)
    return BatchTimes(first_s + target_s, rest_s, 60.0 * flour_g * _dough_per_flour(plan, pace) / rate)


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
