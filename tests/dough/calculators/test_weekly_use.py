"""Use of a week: the interval against an independent library, and whether it holds what it promises."""

import random
from typing import Any

import pytest

from assistant.dough.calculators.weekly_use import LEAST_WEEKS, MOST_WEEKS, weekly_use

stats: Any = pytest.importorskip("scipy.stats")


@pytest.mark.parametrize("weeks", [4, 5, 12, 26, 40])
def test_the_interval_is_students(weeks: int) -> None:
    """Source: scipy's quantile of t; the prediction interval of a normal sample is textbook statistics."""
    chance = random.Random(weeks)
    used = [chance.gauss(12_000, 2_000) for _ in range(weeks)]
    found, newest = weekly_use(used), used[-MOST_WEEKS:]
    n = len(newest)
    spread = stats.tstd(newest) * (1 + 1 / n) ** 0.5
    least, most = stats.t.interval(0.9, n - 1, loc=sum(newest) / n, scale=spread)
    assert found.weeks == n
    assert found.mean_g == pytest.approx(sum(newest) / n)
    assert found.least_g == pytest.approx(least, rel=1e-3)
    assert found.most_g == pytest.approx(most, rel=1e-3)


def test_nineteen_weeks_of_twenty_need_no_more() -> None:
    """Simulated kitchens of eight weeks, and their ninth."""
    chance = random.Random(9)
    enough = 0
    for _ in range(4000):
        *used, coming = (chance.gauss(12_000, 2_000) for _ in range(9))
        enough += coming <= (weekly_use(used).most_g or 0.0)
    assert enough / 4000 == pytest.approx(0.95, abs=0.012)


def test_with_few_weeks_no_interval_is_given() -> None:
    assert weekly_use([]).mean_g == 0
    assert weekly_use([1000.0] * (LEAST_WEEKS - 1)).most_g is None
    assert weekly_use([1000.0] * LEAST_WEEKS).most_g == 1000


def test_no_week_needs_less_than_nothing() -> None:
    assert weekly_use([0, 0, 0, 10_000]).least_g == 0
