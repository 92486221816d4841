"""What a die puts through, learned from batches, and when its trays come too slowly.

That a kitchen's trays differ by some 10 to 15 %, and that a clogging die or a dry crumb slows them: common
practice, no source. What the rule does at that spread is simulated here, with fixed seeds.
"""

import random
from itertools import pairwise
from math import exp, log
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.calculators.throughput import (
    LEAST_BATCHES,
    LEAST_GAPS,
    SLOWER,
    DieRun,
    figures_of,
    slow,
)

SPREAD = 0.15
"""Standard deviation of a tray's time, of its logarithm."""


def run(rate: float, die: str | None = "rigatoni", gaps: tuple[float, ...] = ()) -> DieRun:
    """A batch of 2,000 g at this rate (g a minute)."""
    return DieRun(die, 2000.0, 120_000.0 / rate, gaps)


def test_a_rate_is_mass_over_time() -> None:
    # 2,620 g in 26 min 12 s are 100 g a minute (derived).
    assert DieRun("penne", 2620.0, 1572.0).g_per_min == pytest.approx(100.0)


def test_the_median_counts_and_one_batch_that_was_told_wrongly_does_not() -> None:
    figures = figures_of([run(100), run(104), run(96), run(102), run(98), run(400)])["rigatoni"]
    assert figures.g_per_min == pytest.approx(101.0)
    assert figures.sure
    # Median deviations 1, 3, 5, 1, 3, 299: 3, by 1.4826 a standard deviation of 4.4, and 1.645 of those.
    assert figures.low_g_per_min == pytest.approx(101.0 - 1.645 * 1.4826 * 3.0)
    assert figures.high_g_per_min == pytest.approx(101.0 + 1.645 * 1.4826 * 3.0)


@pytest.mark.parametrize(
    ("rates", "sure"),
    [
        ([100.0] * (LEAST_BATCHES - 1), False),
        ([100.0] * LEAST_BATCHES, True),
        # Too far apart for so few: spread 74 by the median deviation, error 46 of a median of 100.
        ([30.0, 50.0, 150.0, 200.0], False),
    ],
)
def test_it_is_planned_with_where_it_is_known_well_enough(rates: list[float], sure: bool) -> None:
    assert figures_of(map(run, rates))["rigatoni"].sure is sure


def test_dies_are_apart_and_the_last_used_is_first() -> None:
    found = figures_of([run(100, "penne"), run(80, None), run(120, "rigatoni"), run(102, "penne")])
    assert list(found) == ["penne", "rigatoni", None]
    assert [one.batches for one in found.values()] == [2, 1, 1]


def test_what_is_no_rate_of_a_press_is_no_batch() -> None:
    figures = figures_of([run(2), run(9000), run(100)])["rigatoni"]
    assert (figures.batches, figures.g_per_min, figures.low_g_per_min) == (1, 100.0, None)
    assert figures_of([run(2)])["rigatoni"].g_per_min is None


def test_a_die_with_few_batches_is_planned_between_its_own_rate_and_the_others() -> None:
    others = [run(rate, die) for die, rate in (("penne", 100.0), ("bucatini", 120.0)) for _ in range(4)]
    found = [
        figures_of([*others, *[run(60, "lasagne")] * count])["lasagne"].planned_g_per_min or 0.0
        for count in (1, 2, 3)
    ]
    # One batch weighs 1 / 0.25^2 = 16, the two others' middle of 109.5 1 / (0.35^2 * 1.5) = 5.44 (derived).
    assert found[0] == pytest.approx(exp((16.0 * log(60.0) + 5.442 * log(109.545)) / 21.442), abs=0.01)
    assert 100.0 > found[0] > found[1] > found[2] > 60.0
    # From enough batches on its own rate alone counts; of the other dies theirs.
    figures = figures_of([*others, *[run(60, "lasagne")] * LEAST_BATCHES])
    assert [one.planned_g_per_min for one in figures.values()] == [60.0, 120.0, 100.0]


def test_a_press_of_which_little_is_known_says_nothing_of_a_new_die() -> None:
    little = [run(100, "penne")] * (LEAST_BATCHES - 1)
    assert figures_of([*little, run(60, "lasagne")])["lasagne"].planned_g_per_min is None
    assert figures_of([*little, run(100, "penne"), run(2, "lasagne")])["lasagne"].planned_g_per_min is None


def test_plans_by_few_batches_are_nearer_with_the_other_dies_than_without() -> None:
    """Simulated kitchens: dies differ by a third, batches by a quarter; of a die with one batch."""
    luck, pooled, alone, constant = random.Random(3), [], [], []
    for _ in range(300):
        press = luck.gauss(4.6, 0.4)
        dies = {name: press + luck.gauss(0.0, 0.33) for name in ("a", "b", "c", "new")}
        runs = [run(exp(dies[name] + luck.gauss(0.0, 0.25)), name) for name in "aaaabbbbcccc"]
        own = run(exp(dies["new"] + luck.gauss(0.0, 0.25)), "new")
        planned = figures_of([*runs, own])["new"].planned_g_per_min
        assert planned is not None
        pooled.append(abs(log(planned) - dies["new"]))
        alone.append(abs(log(own.g_per_min) - dies["new"]))
        constant.append(abs(4.6 - dies["new"]))
    assert sum(pooled) < 0.95 * sum(alone)
    assert sum(pooled) < 0.6 * sum(constant)


@pytest.mark.parametrize(("gaps", "tray_s"), [(LEAST_GAPS - 1, None), (LEAST_GAPS, 300.0)])
def test_the_time_of_a_tray_wants_enough_trays(gaps: int, tray_s: float | None) -> None:
    found = figures_of([run(100, gaps=(300.0,) * (gaps - 2)), run(100, gaps=(290.0, 310.0))])
    assert found["rigatoni"].tray_s == tray_s


@given(st.lists(st.floats(100, 500), max_size=12), st.floats(150, 400))
def test_trays_within_the_limit_are_never_called(gaps: list[float], usual: float) -> None:
    quick = [min(gap, usual * (SLOWER - 0.01)) for gap in gaps]
    assert slow(quick, usual) is None


def called(gaps: list[float], usual: float | None) -> int | None:
    """Number of the first tray of the batch at which it is called."""
    return next((at for at in range(1, len(gaps) + 1) if slow(gaps[:at], usual) is not None), None)


def some_trays(chance: random.Random, count: int, times: float = 1.0) -> list[float]:
    return [300.0 * times * chance.lognormvariate(0.0, SPREAD) for _ in range(count)]


@pytest.mark.parametrize("known", [True, False])
def test_at_most_one_batch_in_fifty_is_called_without_a_cause(known: bool) -> None:
    chance = random.Random(1)
    wrong = 0
    for _ in range(4000):
        usual = median(some_trays(chance, 24)) if known else None
        wrong += called(some_trays(chance, 6), usual) is not None
    assert wrong / 4000 <= 1 / 50


def test_half_as_long_again_is_called_by_the_fourth_slow_tray() -> None:
    chance = random.Random(2)
    heard = 0
    for _ in range(2000):
        usual = median(some_trays(chance, 24))
        before = some_trays(chance, 2)
        at = called([*before, *some_trays(chance, 4, 1.5)], usual)
        heard += at is not None
    assert heard / 2000 >= 0.9


def test_what_is_said_is_by_how_much_the_last_trays_are_slower() -> None:
    found = slow([300.0, 420.0, 420.0], 300.0)
    assert found is not None
    assert found.slower_pct == pytest.approx(40.0)
    assert found.usual_s == 300.0
    assert all(slow([a, b], 300.0) is None for a, b in pairwise([420.0, 300.0, 420.0]))
