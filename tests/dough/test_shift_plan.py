"""The plan of a shift: batches under the hopper, order, start times, water."""

from dataclasses import replace

import pytest
from hypothesis import given

from assistant.batch.record.rules import LEAST_FLOUR_G
from assistant.dough.recipe import RecipePlan, Share
from assistant.dough.shift_plan import Order, ShiftPace, clock_text, plan_shift, rank
from assistant.errors import DoughError
from tests.bench.plans import RandomPlan, plans

PACE = ShiftPace(
    target_pct=31,
    portion_g=110,
    hopper_g=3000,
    loss_pct=4,
    first_mix_s=120,
    target_mix_s=60,
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
    # 40 x 110 g, 4 % loss, 31 %, three batches where one holds 1500 g of flour (derived by mass balance).
    # 14 portions are 1540 g, 1604.2 g of dough with the loss, 1224.6 g of flour: 1225. 13 are 1137.1 g: 1140.
    found = plan_shift([Order("penne", 40)], replace(PACE, hopper_g=1965), EVENING)
    assert [batch.flour_g for batch in found] == [1225, 1140, 1140]
    assert [batch.portions for batch in found] == [14, 13, 13]
    assert [batch.water_g for batch in found] == [pytest.approx(one) for one in (379.75, 353.4, 353.4)]


def test_the_hopper_is_rounded_down() -> None:
    # 2000 g of dough at 31 % hold 1526.72 g of flour, 1525 in steps of 5: 17 portions of 110 g (derived).
    found = plan_shift([Order("penne", 17)], replace(PACE, hopper_g=2000), EVENING)
    assert [batch.flour_g for batch in found] == [1490]
    found = plan_shift([Order("penne", 18)], replace(PACE, hopper_g=2000), EVENING)
    assert len(found) == 2


def test_orders_of_one_pasta_are_made_together() -> None:
    together = plan_shift([Order("penne", 7), Order("rigatoni", 3), Order("penne", 10)], PACE, EVENING)
    assert [(batch.die, batch.portions) for batch in together] == [("penne", 17), ("rigatoni", 3)]


def test_a_batch_is_never_less_than_the_station_takes() -> None:
    """Less than 100 g of flour is a misheard number to the station: its own rule."""
    (batch,) = plan_shift([Order("penne", 1)], replace(PACE, portion_g=50), EVENING)
    assert batch.flour_g == 100 == LEAST_FLOUR_G


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
    # One batch: 10 portions of 110 g at 4 % loss are 1145.8 g of dough; with half a gram for the rounding of
    # the water 875.05 g of flour, 880 in steps of 5: 1152.8 g, 691.7 s at 100 g a minute, and 300 s of mixing
    # and resting: it starts 991.7 s before 18:00, at 17:43.
    assert [batch.start for batch in plan_shift([Order("penne", 10)], PACE, EVENING)] == ["17:43"]
    two = plan_shift([Order("penne", 10), Order("rigatoni", 10)], PACE, EVENING)
    # 991.7 + 600 + 991.7 = 2583.4 s before: 17:16.
    assert [batch.start for batch in two] == ["17:16", "17:43"]


def test_a_recipes_own_mixes_count() -> None:
    # Bran takes up water slowly (common practice, no source): 150 + 90 + 300 s for 120 + 60 + 120,
    # four minutes more.
    own = RecipePlan("slow", 31, 30, 33, first_mix_s=150, target_mix_s=90, rest_s=300)
    (slow,) = plan_shift([Order("penne", 10, own)], PACE, EVENING)
    (quick,) = plan_shift([Order("penne", 10)], PACE, EVENING)
    assert (quick.start, slow.start) == ("17:43", "17:39")


def test_the_water_of_egg_counts() -> None:
    # 1000 g of flour, 31 %, 200 g of whole egg at 76.15 % (USDA SR28): 157.7 g to pour; by proportion.
    (batch,) = plan_shift([Order("tagliatelle", 10, EGG)], PACE, EVENING, "k")
    assert batch.water_g == pytest.approx(batch.flour_g * 0.1577)
    assert (batch.recipe, batch.key) == ("egg", "k/1")


def test_a_die_that_is_known_is_planned_with_its_own_rate() -> None:
    # 40 portions each of 120 g at 4 % loss: a batch of half of them is some 2,500 g of dough, 25 minutes at
    # 100 g a minute and 50 at 50 (derived). What goes through another die stays as it was.
    orders = [Order("penne", 20), Order("rigatoni", 20)]
    usual = plan_shift(orders, PACE, EVENING)
    known = plan_shift(
        orders, replace(PACE, learned_g_per_min={"penne": PACE.extrude_g_per_min / 2}), EVENING
    )
    assert [one.die for one in usual] == ["penne", "rigatoni"]
    assert known[1] == usual[1]
    at_the_die = usual[0].flour_g * (1.0 + PACE.target_pct / 100.0) / PACE.extrude_g_per_min
    assert minutes(usual[0].start) - minutes(known[0].start) == pytest.approx(at_the_die, abs=1.0)


def minutes(start: str) -> int:
    return int(start[:2]) * 60 + int(start[3:])


def test_what_can_not_be_planned_is_refused() -> None:
    with pytest.raises(DoughError, match="hours before midnight; plan fewer portions or a later service"):
        plan_shift([Order("penne", 500)], PACE, 3600.0)
    with pytest.raises(
        DoughError,
        match=r"^penne: portions 0: a whole number from 1 to 9999 is allowed; give another figure\.$",
    ):
        plan_shift([Order("penne", 0)], PACE, EVENING)


def test_what_no_batch_can_make_is_refused() -> None:
    with pytest.raises(
        DoughError, match=r"^penne: a hopper of 500 g makes no portion of 900 g; set hopper_g "
    ):
        plan_shift([Order("penne", 1)], replace(PACE, hopper_g=500, portion_g=900), EVENING)
    with pytest.raises(
        DoughError, match=r"^penne: a hopper of 120 g holds less than 100 g of flour and what "
    ):
        plan_shift([Order("penne", 1)], replace(PACE, hopper_g=120), EVENING)


@given(plans())
def test_a_plan_makes_what_was_ordered_and_little_more(plan: RandomPlan) -> None:
    """Through the function of `dough yield`; bounds derived by mass balance, in `random_plans`."""
    found = plan.made()
    assert len({batch.key for batch in found}) == len(found)
    assert [batch.start for batch in found] == sorted(batch.start for batch in found)
    assert plan.shortfalls(found) == []
    assert plan.excesses(found) == []


def test_the_check_finds_a_plan_that_falls_short() -> None:
    """Flour shared out evenly, as portions are not: 13 portions of each of three batches for 40."""
    plan = RandomPlan(replace(PACE, hopper_g=1965), (Order("penne", 40),))
    even = [replace(batch, flour_g=1170.0, water_g=362.7) for batch in plan.made()]
    assert plan.shortfalls(even) == ["penne: 39 of 40"]
    generous = [replace(batch, flour_g=batch.flour_g + 10) for batch in plan.made()]
    assert len(plan.excesses(generous)) == 3


def test_a_time_of_day_is_rounded_down() -> None:
    assert clock_text(16 * 3600 + 26 * 60 + 59.9) == "16:26"
