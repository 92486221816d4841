"""Temperatures against a textbook's balance, the trade's rules and the latent heat of ice, with sources."""

import math

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assistant.dough import temperature as t
from assistant.errors import DoughError

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
celsius = st.floats(0, 45)
masses = st.floats(100, 20_000)


def test_rule_of_three_printed_example() -> None:
    """Source: trade monthly, June 2018, p. 29, V: 80 F dough, 65 flour, 75 room, 35 friction -> 65 F."""
    assert t.three_factor_water(80, 75, 65, 35) == pytest.approx(65, abs=0.01)


def test_rule_of_three_second_example() -> None:
    """Source: worked example in a forum, secondary (V2)."""
    assert t.three_factor_water(78, 70, 60, 16) == pytest.approx(88, abs=0.01)


def test_heat_balance_and_the_gap_to_the_rule_of_three() -> None:
    """Source: heat balance, D; the rule of three gives 44 C for the same case, some 5 C more."""
    assert t.water_temperature_c(1000, 20, 310, 28) == pytest.approx(38.87, abs=0.02)
    assert t.three_factor_water(28, 20, 20, 0) == pytest.approx(44, abs=0.01)


def test_textbook_problem() -> None:
    """Source: engineering thermodynamics textbook, 8th ed., problem 5-157: statement V, answer 4.2 C M, D."""
    assert t.water_temperature_c(2000, 15, 1000, 15, 15) == pytest.approx(4.23, abs=0.05)


@pytest.mark.parametrize(("heat", "dough"), [(0, 28.48), (15, 34.91)])
def test_dough_temperature(heat: float, dough: float) -> None:
    """Source: heat balance, D; 15 kJ/kg: the textbook problem, V."""
    assert t.water_temperature_c(1000, 20, 310, dough, heat) == pytest.approx(40, abs=0.05)
    assert t.heat_of_mixing_kj_per_kg(1000, 20, 310, 40, dough) == pytest.approx(heat, abs=0.05)


def test_ice() -> None:
    """Source: heat balance, D. 334.6 kJ/kg = 144 Btu/lb, V; the Fahrenheit form with 112 M.

    One worked example in the trade gives 4.4 kg for the first case: that does not keep the total water.
    """
    assert t.ice_g(40_000, 20, 10) == pytest.approx(4003, abs=10)
    assert pytest.approx(4000, abs=10) == 40_000 * (68 - 50) / (68 + 112)


def test_ice_of_a_freezer_cools_more() -> None:
    """Heat balance, D: ice at -18 C takes 18 x 2.09 = 37.6 kJ/kg more than the 334.6 that melt it.

    400 x 4.186 x 10 = 16,744 kJ are to be taken from 40 kg of water: 16,744 / (372.2 + 4.186 x 20) = 3.6723
    kg.
    """
    assert t.ice_g(40_000, 20, 10, -18) == pytest.approx(1_674_400 / (334.6 + 37.62 + 83.72), abs=0.01)
    assert t.ice_g(40_000, 20, 10, -18) == pytest.approx(3672.3, abs=0.5)
    with pytest.raises(DoughError, match=r"^ice 3 C: from -40 to 0 C is allowed; "):
        t.ice_g(500, 20, 10, 3)


def test_a_dough_over_fifty_degrees_and_an_impossible_heat_are_refused() -> None:
    """Gluten is damaged above 50 C: an open encyclopaedia, V2; extrusion stays below it, AACC 66-41.01, V."""
    for dough_c in (50.1, 70):
        with pytest.raises(DoughError, match=r"^dough temperature .* C: from 0 to 50 C is allowed; "):
            t.water_temperature_c(1000, 20, 310, dough_c)
    assert t.water_temperature_c(1000, 45, 310, 50) > 0
    # 20 C flour and water to a dough of 45 C: 58 kJ/kg, four times the textbook's 15.
    with pytest.raises(
        DoughError, match=r"^heat of mixing 58\.3168 kJ/kg: from -10 to 30 kJ/kg is allowed; "
    ):
        t.heat_of_mixing_kj_per_kg(1000, 20, 310, 20, 45)


@pytest.mark.parametrize(("dough_c", "warned"), [(28, False), (45, False), (45.1, True), (50, True)])
def test_a_word_before_fifty_degrees(dough_c: float, warned: bool) -> None:
    """Barrel of 35 to 45 C made the firmest pasta: Debbouz and Doetkott 1996, secondary."""
    word = t.too_warm(dough_c)
    assert (word is not None) == warned
    assert word is None or ("50 C" in word and "at second hand" in word)


@pytest.mark.parametrize(("degrees", "found"), [(41, 5.00), (70, 21.11), (135, 57.22), (113, 45.00)])
def test_fahrenheit(degrees: float, found: float) -> None:
    """Source: pint 0.25.3, C; by definition."""
    assert t.celsius(degrees) == pytest.approx(found, abs=0.01)


@given(st.floats(-40, 500))
def test_fahrenheit_against_a_units_library(degrees: float) -> None:
    """Source: pint, C."""
    assert t.celsius(degrees) == pytest.approx(UNITS.Quantity(degrees, "degF").to("degC").magnitude, abs=1e-9)
    assert t.fahrenheit(t.celsius(degrees)) == pytest.approx(degrees, abs=1e-9)


@given(masses, celsius, masses, celsius, st.floats(0, 20))
def test_water_temperature_and_heat_of_mixing_are_inverse(
    flour: float, flour_c: float, water: float, water_c: float, heat: float
) -> None:
    """Heat balance, D: the dough is as warm as its parts' heat and that of mixing make it."""
    capacity = flour * t.FLOUR_KJ_PER_KG_K + water * t.WATER_KJ_PER_KG_K
    brought = flour * t.FLOUR_KJ_PER_KG_K * flour_c + water * t.WATER_KJ_PER_KG_K * water_c
    dough = (brought + heat * (flour + water)) / capacity
    assume(0 <= dough <= 50)
    assert t.water_temperature_c(flour, flour_c, water, dough, heat) == pytest.approx(water_c, abs=1e-6)
    assert t.heat_of_mixing_kj_per_kg(flour, flour_c, water, water_c, dough) == pytest.approx(heat, abs=1e-6)


@given(masses, celsius, masses, st.floats(10, 40))
def test_warmer_flour_takes_colder_water(flour: float, flour_c: float, water: float, dough_c: float) -> None:
    assume(flour / water < 3)
    colder = t.water_temperature_c(flour, flour_c, water, dough_c)
    assert t.water_temperature_c(flour, flour_c - 1, water, dough_c) > colder


@given(masses, st.floats(0, 40), st.floats(0, 40))
def test_ice_keeps_mass_and_heat(water: float, tap: float, wanted: float) -> None:
    assume(wanted <= tap)
    ice = t.ice_g(water, tap, wanted)
    assert 0 <= ice <= water
    lost = (water - ice) * t.COOLING_KJ_PER_KG_K * (tap - wanted)
    taken = ice * (t.ICE_KJ_PER_KG + t.COOLING_KJ_PER_KG_K * wanted)
    assert lost == pytest.approx(taken, rel=1e-9, abs=1e-6)


def test_heat_is_learned_from_measured_batches() -> None:
    assert t.learned_heat([]) is None
    assert t.learned_heat([6.0]) == t.LearnedHeat(6.0, None, 1)
    learned = t.learned_heat([5.0, 6.0, 7.0])
    assert learned is not None
    assert learned.mean == pytest.approx(6.0)
    assert learned.error == pytest.approx(1 / math.sqrt(3))
    assert learned.batches == 3


@pytest.mark.parametrize(
    ("celsius", "said"),
    [
        (-3, "colder than water can be: cool the flour, or let ice replace part of the water"),
        (2, "colder than a fridge: let ice replace part of the water"),
        (3.9, "colder than a fridge: let ice replace part of the water"),
        (4, None),
        (20, None),
        (60, None),
        (75, "too hot to pour: warm the flour instead"),
    ],
)
def test_water_that_can_not_be_used(celsius: float, said: str | None) -> None:
    assert t.usable_water(celsius) == said


def test_ice_does_not_warm() -> None:
    with pytest.raises(DoughError) as caught:
        t.ice_g(500, 10, 20)
    assert str(caught.value) == "water wanted at 20 C from 10 C: ice only cools; warm the water."
