"""Moisture and blends against published figures. Each check names its source and how far that was read.

Marks: V read in the source; D mass balance derived here; M from memory; C computed with a library or data
file.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough import hydration
from assistant.dough import moisture as m
from assistant.errors import DoughError

moistures = st.floats(0, 20)
hydrations = st.floats(0.5, 60)
masses = st.floats(10, 10_000)


@pytest.mark.parametrize(
    ("flour", "flour_moisture", "water", "dough", "source"),
    [
        (1000, 14.0, 310, 34.351, "D"),
        (100, 14, 25, 31.200, "D; 25-27 parts per 100: Foods 11(3):256, 2022, Table 1, V"),
        (100, 14, 27, 32.283, "D; 25-27 parts per 100: Foods 11(3):256, 2022, Table 1, V"),
        (1000, 12.67, 310, 33.336, "D; moisture of semolina: USDA SR28 NDB 20466, V"),
        (1000, 14.5, 330, 35.714, "D"),
    ],
)
def test_dough_moisture(flour: float, flour_moisture: float, water: float, dough: float, source: str) -> None:
    assert m.dough_moisture_pct(flour, flour_moisture, water) == pytest.approx(dough, abs=0.005), source


@pytest.mark.parametrize(
    ("flour_moisture", "wanted", "water"),
    [(14, 30, 22.857), (14, 31, 24.638), (14, 32, 26.471), (14.5, 31, 23.913), (12.67, 31, 26.565)],
)
def test_water_for_a_wanted_moisture(flour_moisture: float, wanted: float, water: float) -> None:
    """Source: mass balance, D."""
    assert m.water_for_moisture_g(100, flour_moisture, wanted) == pytest.approx(water, abs=0.005)


@pytest.mark.parametrize("wanted", [13.0, 14.0])
def test_a_dough_drier_than_its_flour_is_refused_never_negative_water(wanted: float) -> None:
    """Source: mass balance, D."""
    with pytest.raises(DoughError) as caught:
        m.water_for_moisture_g(1000, 14, wanted)
    assert str(caught.value) == (
        f"dough moisture {wanted:g} % on flour of 14 %: it must be above the flour's own; "
        "aim higher, or use drier flour."
    )


@pytest.mark.parametrize(
    ("new_moisture", "corrected"), [(13, 32.523), (12, 34.047), (14.5, 30.238), (12.67, 33.026)]
)
def test_hydration_for_another_moisture(new_moisture: float, corrected: float) -> None:
    """Source: mass balance, D; the dough keeps its moisture of 34.351 %, D."""
    found = m.corrected_hydration_pct(31, 14, new_moisture)
    assert found == pytest.approx(corrected, abs=0.005)
    assert m.moisture_of_hydration_pct(found, new_moisture) == pytest.approx(34.351, abs=0.001)


def test_oven_drying() -> None:
    """Source: definition of moisture on the wet and the dry basis, D."""
    assert m.oven_moisture_pct(5.0, 4.3) == pytest.approx(14.00, abs=0.005)
    assert m.dry_basis_pct(14.0) == pytest.approx(16.279, abs=0.005)
    assert m.oven_moisture_pct(25.0, 24.3, 20.0) == pytest.approx(14.00, abs=0.005)


def test_blend_of_two_lots() -> None:
    """Source: mass balance, D."""
    assert m.blend_moisture_pct([(600, 13.2), (400, 14.6)]) == pytest.approx(13.76, abs=0.005)


@pytest.mark.parametrize(
    ("moisture", "passed"),
    [(14.5, []), (14.6, ["Italy"]), (15.0, ["Italy"]), (15.1, ["Italy", "United States"])],
)
def test_limits_of_semolina(moisture: float, passed: list[str]) -> None:
    """Source: 14.50 % Italy, secondary copy (V2 in law 580/1967, art. 9); 15 %: 21 CFR 137.320(a), V."""
    assert m.limits_passed(moisture) == passed


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (
            lambda: m.dough_moisture_pct(0, 14, 310),
            "flour 0 g: from 1 to 100000 g is allowed; give another figure.",
        ),
        (
            lambda: m.dough_moisture_pct(1000, 14, -1),
            "water -1 g: from 0 to 100000 g is allowed; give another figure.",
        ),
        (
            lambda: m.dough_moisture_pct(1000, 140, 310),
            "flour moisture 140 %: from 0 to 30 % is allowed; give another figure.",
        ),
        (
            lambda: m.oven_moisture_pct(4.3, 5.0),
            "after drying 5 g, before it 4.3 g: drying takes mass away; weigh again, or exchange the two.",
        ),
        (
            lambda: m.oven_moisture_pct(5.0, 5.0),
            "after drying 5 g, before it 5 g: drying takes mass away; weigh again, or exchange the two.",
        ),
        (
            lambda: m.oven_moisture_pct(5.0, 1.0),
            "moisture found 80 %: from 0 to 30 % is allowed; give another figure.",
        ),
        (lambda: m.blend_moisture_pct([]), "no flour: a blend is of one lot or more; name them."),
        (
            lambda: m.corrected_hydration_pct(2, 10, 20),
            "flour of 20 % moisture is wetter than the dough of 2 % hydration on 10 %: "
            "no water can be left out; use drier flour.",
        ),
        (
            lambda: m.dough_moisture_pct(1000, math.nan, 310),
            "flour moisture nan %: from 0 to 30 % is allowed; give another figure.",
        ),
    ],
)
def test_impossible_figures_are_told_in_one_line(call: object, said: str) -> None:
    with pytest.raises(DoughError) as caught:
        call()  # type: ignore[operator]
    assert str(caught.value) == said


@given(hydrations, moistures)
def test_hydration_to_moisture_and_back(pct: float, moisture: float) -> None:
    dough = m.moisture_of_hydration_pct(pct, moisture)
    assert moisture < dough < 100
    assert m.hydration_of_moisture_pct(dough, moisture) == pytest.approx(pct, rel=1e-9)


@given(masses, moistures, hydrations, st.floats(0.1, 10))
def test_scaling_flour_and_water_leaves_the_moisture(
    flour: float, moisture: float, pct: float, by: float
) -> None:
    water = hydration.water_for_g(flour, pct)
    before = m.dough_moisture_pct(flour, moisture, water)
    assert m.dough_moisture_pct(flour * by, moisture, water * by) == pytest.approx(before)


@given(st.floats(0, 19), st.floats(0.1, 1), st.floats(25, 60))
def test_wetter_flour_wants_less_water(moisture: float, more: float, wanted: float) -> None:
    assert m.water_for_moisture_g(100, moisture + more, wanted) < m.water_for_moisture_g(
        100, moisture, wanted
    )


@given(hydrations, moistures, moistures)
def test_correction_there_and_back(pct: float, one: float, other: float) -> None:
    try:
        there = m.corrected_hydration_pct(pct, one, other)
    except DoughError:
        assert m.moisture_of_hydration_pct(pct, one) < other
        return
    assert there >= 0
    assert m.corrected_hydration_pct(there, other, one) == pytest.approx(pct, abs=1e-9)


@given(st.lists(st.tuples(masses, moistures), min_size=1, max_size=6))
def test_a_blend_lies_between_its_flours(parts: list[tuple[float, float]]) -> None:
    found = m.blend_moisture_pct(parts)
    assert min(p for _, p in parts) - 1e-9 <= found <= max(p for _, p in parts) + 1e-9


@given(masses, st.floats(0.5, 29.9))
def test_oven_finds_the_moisture_that_was_there(mass: float, moisture: float) -> None:
    assert m.oven_moisture_pct(mass, mass * (1 - moisture / 100)) == pytest.approx(moisture, abs=1e-6)
