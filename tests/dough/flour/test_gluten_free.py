"""Marks of doughs without gluten, against the moistures that two publications had.

36 % as the most of a series of rice and buckwheat pasta: Foods 2019, 8(10):496 (abstract read). 40 % for rice
at 50 to 55 C: University of Milan pilot plant (excerpt read). 30 % with 40 % of chickpea flour: Foods 2025,
14:2524 (abstract read). Flour of 12 %: SR28, from memory.
"""

import pytest

from assistant.dough.flour.gluten_free import LEGUME, STARCHY, marks_of
from assistant.dough.moisture import moisture_of_hydration_pct
from assistant.dough.ranges import TARGET_PCT


def test_rice_lies_between_the_two_published_moistures() -> None:
    # By mass balance: (36 - 12) / (100 - 36) = 37.5 % and (40 - 12) / 60 = 46.67 %.
    assert STARCHY.low_pct == pytest.approx(37.5)
    assert STARCHY.high_pct == pytest.approx(46.667, abs=0.001)
    assert moisture_of_hydration_pct(STARCHY.target_pct, 12.0) == pytest.approx(38.0, abs=0.1)


def test_legumes_begin_where_rice_with_chickpea_was_best() -> None:
    assert moisture_of_hydration_pct(LEGUME.low_pct, 12.0) == pytest.approx(30.0)
    assert moisture_of_hydration_pct(LEGUME.high_pct, 12.0) == pytest.approx(36.0)


def test_a_blend_has_the_mean_by_share_to_half_a_point() -> None:
    rice = marks_of([("rice flour", 100.0)])
    assert (rice.low_pct, rice.target_pct, rice.high_pct) == (37.5, 42.0, 46.5)
    peas = marks_of([("chickpea flour", 60.0), ("red lentils", 40.0), ("salt", 0.0)])
    assert (peas.low_pct, peas.target_pct, peas.high_pct) == (25.5, 31.5, 37.5)
    half = marks_of([("maize flour", 50.0), ("pea flour", 50.0)])
    assert half.low_pct == pytest.approx((37.5 + 25.714) / 2.0, abs=0.25)


@pytest.mark.parametrize("marks", [STARCHY, LEGUME])
def test_the_marks_can_be_aimed_at_and_are_in_order(marks: object) -> None:
    low, target, high = (getattr(marks, name) for name in ("low_pct", "target_pct", "high_pct"))
    assert TARGET_PCT.least <= low < target < high <= TARGET_PCT.most
