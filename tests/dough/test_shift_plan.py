"""The plan of a shift: batches under the hopper, order, start times, water."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.recipe import RecipePlan, Share
from assistant.dough.shift_plan import Order, ShiftPace, clock_text, plan_shift, rank
from assistant.errors import DoughError

PACE = ShiftPace(
    target_pct=31,
    portion_g=110,
    hopper_g=3000,
    loss_pct=4,
    mix_s=180,
    rest_s=120,
    extrude_g_per_min=100,
    changeover_s=600,
)
EGG = RecipePlan("egg", 31, 30, 33, (Share("whole egg", 20, 76.15),), allergens=("wheat", "egg"))
SPINACH = RecipePlan("spinach", 31, 30, 33, (Share("spinach boiled", 15, 91.21),), allergens=("wheat",))
INK = RecipePlan(
    "squid ink", 31, 30, 33, (Share("cuttlefish ink", 3, 87.9),), allergens=("wheat", "molluscs")
)
EVENING = 18 * 3600.0


def test_forty_portions_take_three_batches() -> None:
    # 40 x 110 g, 4 % loss, 31 %: 3498.73 g of flour, three batches where one holds 1500 g (derived by mass
    # balance).
    found = plan_shift([Order("penne", 40)], replace(PACE, hopper_g=1965), EVENING)
    assert [batch.flour_g for batch in found] == [1170, 1170, 1170]
    assert [batch.portions for batch in found] == [14, 13, 13]
    assert sum(batch.flour_g for batch in found) >= 3498.73
    assert [batch.water_g for batch in found] == [pytest.approx(362.7)] * 3


def test_the_hopper_is_rounded_down() -> None:
    # 2000 g of dough at 31 % hold 1526.72 g of flour: never 1530.
    found = plan_shift([Order("penne", 17)], replace(PACE, hopper_g=2000), EVENING)
    assert [batch.flour_g for batch in found] == [1490]
    found = plan_shift([Order("penne", 18)], replace(PACE, hopper_g=2000), EVENING)
    assert len(found) == 2


def test_plain_goes_before_egg_before_coloured_before_ink() -> None:
    # Common practice, no source: for the allergens, and for the cleaning.
    orders = [
        Order("spaghetti", 5, INK),
        Order("penne", 5, SPINACH),
        Order("tagliatelle", 5, EGG),
        Order("fusilli", 5),
    ]
    assert [batch.die for batch in plan_shift(orders, PACE, EVENING)] == [
        "fusilli",
        "tagliatelle",
        "penne",
        "spaghetti",
    ]
    assert [rank(plan) for plan in (None, EGG, SPINACH, INK)] == [0, 1, 2, 3]


def test_start_times_are_reckoned_back_from_service() -> None:
    # One batch: 10 portions of 110 g at 4 % loss are 1145.8 g of dough, 874.7 of flour, 875 rounded up:
    # 1146.25 g, 687.75 s at 100 g a minute, and 300 s of mixing and resting: it starts 987.75 s before 18:00,
    # at 17:43.
    assert [batch.start for batch in plan_shift([Order("penne", 10)], PACE, EVENING)] == ["17:43"]
    two = plan_shift([Order("penne", 10), Order("rigatoni", 10)], PACE, EVENING)
    # 987.75 + 600 + 987.75 = 2575.5 s before: 17:17.
    assert [batch.start for batch in two] == ["17:17", "17:43"]


def test_the_water_of_egg_counts() -> None:
    # 1000 g of flour, 31 %, 200 g of whole egg at 76.15 % (USDA SR28): 157.7 g to pour; by proportion.
    (batch,) = plan_shift([Order("tagliatelle", 10, EGG)], PACE, EVENING, "k")
    assert batch.water_g == pytest.approx(batch.flour_g * 0.1577)
    assert (batch.recipe, batch.key) == ("egg", "k/1")


def test_what_can_not_be_planned_is_refused() -> None:
    with pytest.raises(DoughError, match="hours before midnight; plan fewer portions or a later service"):
        plan_shift([Order("penne", 500)], PACE, 3600.0)
    with pytest.raises(
        DoughError,
        match=r"^penne: portions 0: a whole number from 1 to 9999 is allowed; give another figure\.$",
    ):
        plan_shift([Order("penne", 0)], PACE, EVENING)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["penne", "rigatoni"]), st.integers(1, 60), st.sampled_from([None, EGG, INK])
        ),
        min_size=1,
        max_size=4,
    ),
    st.floats(1000, 6000),
)
def test_every_portion_is_made_and_no_batch_is_over_the_hopper(
    wanted: list[tuple[str, int, RecipePlan | None]], hopper: float
) -> None:
    pace = replace(PACE, hopper_g=hopper, mix_s=0, rest_s=1, extrude_g_per_min=100_000, changeover_s=0)
    orders = [Order(*one) for one in wanted]
    found = plan_shift(orders, pace, 86_000.0)
    assert sum(batch.portions for batch in found) == sum(order.portions for order in orders)
    assert len({batch.key for batch in found}) == len(found)
    assert [batch.start for batch in found] == sorted(batch.start for batch in found)
    for batch in found:
        plan = next(
            order.plan for order in orders if (order.plan.recipe if order.plan else None) == batch.recipe
        )
        brought = sum(one.grams for one in plan.additions(batch.flour_g)) if plan else 0.0
        assert batch.flour_g + batch.water_g + brought <= hopper + 0.01
        assert batch.flour_g % 5 == 0


def test_a_time_of_day_is_rounded_down() -> None:
    assert clock_text(16 * 3600 + 26 * 60 + 59.9) == "16:26"
