"""Hydration against baker's percent, figures of the trade, and its own inverse."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.decide.making.crumb import top_up_g
from assistant.batch.record.rules import BatchRules
from assistant.dough.flour.staging import first_water_g
from assistant.dough.hydration import (
    flour_for_g,
    hydration_pct,
    most_flour_g,
    rescue_flour_g,
    round_down,
    water_for_g,
)
from tests.batch.kitchen import at_target

masses = st.floats(1.0, 1e5)
percents = st.floats(1.0, 100.0)


@pytest.mark.parametrize(
    ("flour", "water", "pct"),
    [
        (1500, 465, 31.0),  # baker's percent: "Bakers Percent", Baker's Dictionary, bakingbusiness.com
        (1000, 310, 31.0),  # the same rule, the other way round
        (2000, 600, 30.0),  # common practice, no source
        (2000, 620, 31.0),  # common practice, no source
        (2000, 660, 33.0),  # common practice, no source: 30-33 % of the flour's weight
    ],
)
def test_water_in_percent_of_the_flour(flour: float, water: float, pct: float) -> None:
    assert hydration_pct(water, flour) == pytest.approx(pct, abs=0.005)
    assert water_for_g(flour, pct) == pytest.approx(water, abs=0.05)
    assert flour_for_g(water, pct) == pytest.approx(flour, abs=0.05)


def test_the_most_flour_for_a_hopper_is_rounded_down() -> None:
    """2000 g of dough at 31 % are 2000 / 1.31 = 1526.72 g of flour (mass balance), rounded down."""
    assert most_flour_g(2000, 31) == pytest.approx(1526.72, abs=0.01)
    assert round_down(most_flour_g(2000, 31), 1.0) == 1526
    assert round_down(most_flour_g(2000, 31), 5.0) == 1525
    assert 1526 * 1.31 < 2000 < 1527 * 1.31


def test_an_overshoot_is_mended_with_flour() -> None:
    """345 g in 1000 g, aim 31 %: 345 / 0.31 - 1000 = 112.90 g more; dough then 1457.9 g (mass balance)."""
    flour = rescue_flour_g(1000, 345, 31)
    assert flour == pytest.approx(112.90, abs=0.01)
    assert 1000 + 345 + flour == pytest.approx(1457.9, abs=0.01)
    assert hydration_pct(345, 1000 + flour) == pytest.approx(31)
    assert rescue_flour_g(1000, 310, 31) == 0
    assert rescue_flour_g(1000, 300, 31) == 0


def test_a_step_of_half_a_percent() -> None:
    """0.5 % of 1500 g is 7.5 g (arithmetic); the station says whole grams, never more than the step."""
    assert water_for_g(1500, 0.5) == pytest.approx(7.5, abs=0.01)
    assert top_up_g(at_target(1500).batch, BatchRules(step_pct=0.5)) == 7


def test_a_top_up_is_twenty_on_two_thousand() -> None:
    """1 % of the flour, 20 g on 2000 g: common practice, no source."""
    assert top_up_g(at_target(2000).batch, BatchRules()) == 20


def test_the_first_look_comes_at_seventy_to_seventy_five_percent_of_the_water() -> None:
    """430-450 g of the 600 g that 2000 g of flour take at 30 %: common practice, no source."""
    assert 430 <= first_water_g(2000, 30, BatchRules().first_pour_share) <= 450


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: hydration_pct(10, 0), "flour 0 g: hydration needs more than 0 g"),
        (lambda: hydration_pct(10, math.nan), "flour nan g: hydration needs more than 0 g"),
        (lambda: hydration_pct(-1, 10), "water -1 g: must be 0 g or more"),
        (lambda: water_for_g(-1, 31), "flour -1 g at 31 %: both must be 0 or more"),
        (lambda: water_for_g(1, -31), "flour 1 g at -31 %: both must be 0 or more"),
        (lambda: flour_for_g(10, 0), "water 10 g at 0 %: water must be 0 or more, percent more than 0"),
        (lambda: flour_for_g(-1, 31), "water -1 g at 31 %: water must be 0 or more, percent more than 0"),
        (lambda: rescue_flour_g(-1, 310, 31), "flour -1 g: must be 0 g or more"),
        (lambda: most_flour_g(-1, 31), "hopper -1 g at 31 %: both must be 0 or more"),
    ],
)
def test_what_can_be_no_mass_is_refused(call: Callable[[], float], text: str) -> None:
    with pytest.raises(ValueError) as error:  # noqa: PT011 - the whole text is held below
        call()
    assert str(error.value) == text


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_no_figure_comes_out_of_no_number(bad: float) -> None:
    calls: list[Callable[[], float]] = [
        lambda: hydration_pct(bad, 1000),
        lambda: hydration_pct(10, bad),
        lambda: water_for_g(bad, 31),
        lambda: water_for_g(1000, bad),
        lambda: flour_for_g(bad, 31),
        lambda: flour_for_g(10, bad),
        lambda: most_flour_g(bad, 31),
        lambda: most_flour_g(3000, bad),
        lambda: rescue_flour_g(1000, bad, 31),
        lambda: rescue_flour_g(bad, 310, 31),
    ]
    for call in calls:
        with pytest.raises(ValueError, match=r"nan|inf"):
            call()


@given(masses, percents)
def test_water_and_percent_are_inverses(flour: float, pct: float) -> None:
    assert hydration_pct(water_for_g(flour, pct), flour) == pytest.approx(pct)
    assert flour_for_g(water_for_g(flour, pct), pct) == pytest.approx(flour)


@given(masses, masses, st.floats(0.1, 50))
def test_scaling_a_batch_leaves_its_hydration(flour: float, water: float, scale: float) -> None:
    assert hydration_pct(water * scale, flour * scale) == pytest.approx(hydration_pct(water, flour))


@given(masses, st.floats(0, 1e5), st.floats(0.01, 1e4), percents)
def test_more_water_is_wetter_and_more_flour_drier(
    flour: float, water: float, more: float, pct: float
) -> None:
    assert hydration_pct(water + more, flour) > hydration_pct(water, flour)
    assert hydration_pct(water, flour + more) <= hydration_pct(water, flour)
    assert rescue_flour_g(flour, water + more, pct) >= rescue_flour_g(flour, water, pct) >= 0


@given(masses, masses, percents)
def test_rescue_brings_just_down_to_the_mark(flour: float, water: float, pct: float) -> None:
    mended = hydration_pct(water, flour + rescue_flour_g(flour, water, pct))
    assert mended == pytest.approx(min(pct, hydration_pct(water, flour)))


@given(st.floats(0, 1e5), percents)
def test_the_most_flour_fills_the_hopper(hopper: float, pct: float) -> None:
    flour = most_flour_g(hopper, pct)
    assert flour + water_for_g(flour, pct) == pytest.approx(hopper)


@given(st.floats(0, 1e5), st.sampled_from([1.0, 5.0, 10.0]))
def test_rounding_down_never_adds(grams: float, step: float) -> None:
    down = round_down(grams, step)
    assert down <= grams + 1e-6
    assert grams - down < step
    assert down % step == 0


def test_rounding_down_forgives_the_noise_of_floats() -> None:
    assert round_down(0.1 + 0.2, 0.1) == pytest.approx(0.3)
    assert round_down(465 * 0.72 / 0.72, 5) == 465
