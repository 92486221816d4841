"""Random plans of a shift, and whether they make what was ordered: `python -m tests.bench.plans 5000`.

A plan is judged by the function of `crumbcall dough yield` on the flour and water as they are printed, the
water in whole grams. Little more is: each batch has at most `STEP_G` and the flour of half a gram of dough
more than its portions take, or is the smallest that the station takes; and no fewer batches could make the
order.
"""

import math
import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import strategies as st

from assistant.batch.record.rules import LEAST_FLOUR_G
from assistant.dough.moisture import dough_moisture_pct
from assistant.dough.recipe import RecipePlan, Share
from assistant.dough.shift_plan import STEP_G, Order, PlannedBatch, ShiftPace, plan_shift
from assistant.dough.yields import yield_of

EGG = RecipePlan(
    "egg", 31, 30, 33, (Share("whole egg", 20, 76.15),), allergens=("wheat", "egg"), portion_g=95
)
SALTED = RecipePlan("salted", 33, 30, 36, (Share("salt", 1, 0.0), Share("spinach boiled", 15, 91.21)))
DOUGHS = (None, EGG, SALTED)
FLOUR_MOISTURE_PCT = 14.0
LATE_S = 86_399.0


@dataclass(frozen=True)
class RandomPlan:
    """A kitchen and what is ordered of it; no order comes twice."""

    pace: ShiftPace
    orders: tuple[Order, ...]

    def made(self) -> list[PlannedBatch]:
        """The plan."""
        return plan_shift(self.orders, self.pace, LATE_S, "k")

    def of(self, order: Order, batches: Sequence[PlannedBatch]) -> list[PlannedBatch]:
        """The batches of an order."""
        recipe = order.plan.recipe if order.plan else None
        return [one for one in batches if (one.die, one.recipe) == (order.die, recipe)]

    def dough_g(self, order: Order, flour_g: float, water_g: float) -> float:
        """All that goes into a batch (g)."""
        return (
            flour_g
            + water_g
            + sum(one.grams for one in (order.plan.additions(flour_g) if order.plan else ()))
        )

    def portion_g(self, order: Order) -> float:
        """Raw portion of an order (g)."""
        return (order.plan.portion_g if order.plan else None) or self.pace.portion_g

    def shortfalls(self, batches: Sequence[PlannedBatch]) -> list[str]:
        """Orders that are made too little of, raw or cooked, with what is made; none: all is well."""
        short = []
        for order in self.orders:
            made, cooked, wanted_cooked = 0, 0.0, 0.0
            for one in self.of(order, batches):
                water = float(round(one.water_g))
                additions = order.plan.additions(one.flour_g) if order.plan else ()
                moisture = dough_moisture_pct(
                    one.flour_g,
                    FLOUR_MOISTURE_PCT,
                    water,
                    [(part.grams, part.water_pct) for part in additions],
                )
                dough = self.dough_g(order, one.flour_g, water)
                found = yield_of(dough, moisture, self.portion_g(order), self.pace.loss_pct)
                made += found.portions
                cooked += found.cooked_g
                wanted_cooked += one.portions * found.cooked_portion_g
            if made < order.portions or cooked < wanted_cooked:
                short.append(f"{order.die}: {made} of {order.portions}")
        return short

    def excesses(self, batches: Sequence[PlannedBatch]) -> list[str]:
        """Batches over the hopper, with more flour than they need, or more in number than the order needs."""
        out = []
        for order in self.orders:
            own = self.of(order, batches)
            for one in own:
                dough = self.dough_g(order, one.flour_g, one.water_g)
                per_flour = dough / one.flour_g
                needed = one.portions * self.portion_g(order) / (1 - self.pace.loss_pct / 100) / per_flour
                most = max(LEAST_FLOUR_G, needed + STEP_G + 0.5 / per_flour)
                if dough > self.pace.hopper_g + 1e-6 or one.flour_g > most + 1e-6 or one.flour_g % STEP_G:
                    out.append(f"{one.key}: {one.flour_g:g} g, {most:g} at most")
            net = (self.pace.hopper_g) * (1 - self.pace.loss_pct / 100)
            fewest = math.ceil(order.portions / max(1.0, net / self.portion_g(order)))
            # A hopper in steps of 5 g of flour may hold one portion less than it does of dough.
            fewest_in_steps = math.ceil(order.portions / max(1, math.floor(net / self.portion_g(order)) - 1))
            if not fewest <= len(own) <= fewest_in_steps:
                out.append(f"{order.die}: {len(own)} batches, {fewest} to {fewest_in_steps}")
        return out


def _plan(figures: Sequence[float], orders: Sequence[tuple[str, int, int]]) -> RandomPlan:
    target, portion, hopper, loss = figures
    pace = ShiftPace(
        target_pct=round(target, 1),
        portion_g=round(portion),
        hopper_g=round(hopper),
        loss_pct=round(loss, 1),
        first_mix_s=0,
        target_mix_s=0,
        rest_s=1,
        extrude_g_per_min=10_000_000,
        changeover_s=0,
    )
    named = {(die, dough): Order(die, count, DOUGHS[dough]) for die, count, dough in orders}
    return RandomPlan(pace, tuple(named.values()))


_FIGURES = ((25.0, 40.0), (60.0, 200.0), (1000.0, 6000.0), (0.0, 10.0))
"""Target (%), portion (g), hopper (g), loss (%): from to."""
_SHAPES = ("penne", "rigatoni")


def plans() -> st.SearchStrategy[RandomPlan]:
    """Plans as hypothesis draws them."""
    order = st.tuples(st.sampled_from(_SHAPES), st.integers(1, 150), st.integers(0, len(DOUGHS) - 1))
    figures = st.tuples(*(st.floats(*bounds) for bounds in _FIGURES))
    return st.builds(_plan, figures, st.lists(order, min_size=1, max_size=4))


def main() -> None:
    """Count the plans that fall short, and those that make too much."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    chance = random.Random(17)
    short = much = batches = 0
    for _ in range(count):
        orders = [
            (chance.choice(_SHAPES), chance.randint(1, 150), chance.randrange(len(DOUGHS)))
            for _ in range(chance.randint(1, 4))
        ]
        plan = _plan([chance.uniform(*bounds) for bounds in _FIGURES], orders)
        made = plan.made()
        batches += len(made)
        short += bool(plan.shortfalls(made))
        much += bool(plan.excesses(made))
    print(f"{count} plans, {batches} batches: {short} fall short, {much} make more than the bound")


if __name__ == "__main__":
    main()
