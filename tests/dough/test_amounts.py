"""Water's density and units of mass against libraries that know them: iapws (IAPWS-95) and pint (NIST)."""

import math
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS95

from assistant.dough.amounts import GRAMS_PER, MILLILITRES_PER, ML_PER_VESSEL, Amount, Unit, density_g_per_ml
from assistant.errors import DoughError

UNITS: Any = pint.UnitRegistry()
ATMOSPHERE_MPA = 0.101325


@pytest.mark.parametrize(
    "celsius", [0.01, 2, 4, 7, 12.5, 20, 22, 25, 28.3, 33, 40, 42.5, 47, 50, 52.5, 57.5, 60]
)
def test_density_is_that_of_iapws_95(celsius: float) -> None:
    """The table is linear between its rows: at most 0.07 kg/m3 off."""
    exact = IAPWS95(T=celsius + 273.15, P=ATMOSPHERE_MPA).rho
    assert density_g_per_ml(celsius) * 1000 == pytest.approx(exact, abs=0.07)


@pytest.mark.parametrize(("celsius", "kg_per_m3"), [(20, 998.207), (25, 997.048), (40, 992.216)])
def test_density_at_the_rows(celsius: float, kg_per_m3: float) -> None:
    """IAPWS-95 as printed by CoolProp 8.0.0 and iapws 1.5.5; a handbook has 998.2071, 997.0479, 992.2."""
    assert density_g_per_ml(celsius) * 1000 == pytest.approx(kg_per_m3, abs=0.001)


@pytest.mark.parametrize(("celsius", "grams"), [(4, 309.99), (20, 309.44), (40, 307.59), (45, 306.97)])
def test_what_310_ml_weigh(celsius: float, grams: float) -> None:
    assert Amount(310, "ml").grams(density_g_per_ml(celsius)) == pytest.approx(grams, abs=0.02)
    exact = 0.310 * IAPWS95(T=celsius + 273.15, P=ATMOSPHERE_MPA).rho
    assert Amount(0.31, "l").grams(density_g_per_ml(celsius)) == pytest.approx(exact, abs=0.02)


@pytest.mark.parametrize(("celsius", "millilitres"), [(20, 310.56), (40, 312.43)])
def test_how_much_310_g_fill(celsius: float, millilitres: float) -> None:
    assert 310 / density_g_per_ml(celsius) == pytest.approx(millilitres, abs=0.02)


@pytest.mark.parametrize("celsius", [-0.1, 60.1, -5.0, math.nan])
def test_outside_the_table(celsius: float) -> None:
    with pytest.raises(DoughError) as error:
        density_g_per_ml(celsius)
    assert str(error.value) == f"water {celsius:g} C: from 0 to 60 C is allowed; give another figure."


@given(st.floats(4, 60), st.floats(0.01, 56))
def test_warmer_water_is_lighter(celsius: float, warmer: float) -> None:
    """Above 4 C water only expands (IAPWS-95)."""
    hot = min(60.0, celsius + warmer)
    assert density_g_per_ml(hot) <= density_g_per_ml(celsius)


@pytest.mark.parametrize(
    ("unit", "name"), [("g", "gram"), ("kg", "kilogram"), ("lb", "pound"), ("oz", "ounce")]
)
def test_units_of_mass_are_those_of_pint(unit: Unit, name: str) -> None:
    assert GRAMS_PER[unit] == pytest.approx(UNITS.Quantity(1.0, name).to("gram").magnitude, rel=1e-12)
    assert Amount(2.0, unit).grams(math.nan) == pytest.approx(2 * GRAMS_PER[unit])


@pytest.mark.parametrize(("unit", "name"), [("ml", "milliliter"), ("l", "liter")])
def test_units_of_volume_are_those_of_pint(unit: Unit, name: str) -> None:
    assert MILLILITRES_PER[unit] == pytest.approx(UNITS.Quantity(1.0, name).to("milliliter").magnitude)


@pytest.mark.parametrize(("unit", "grams"), [("lb", 453.592), ("oz", 28.3495)])
def test_pounds_and_ounces(unit: Unit, grams: float) -> None:
    assert Amount(1, unit).grams(1.0) == pytest.approx(grams, abs=0.001)


@pytest.mark.parametrize(
    ("vessel", "name", "printed"),
    [("us cup", "cup", 236.588), ("us pint", "pint", 473.176), ("imperial pint", "imperial_pint", 568.261)],
)
def test_cups_and_pints_are_those_of_pint(vessel: str, name: str, printed: float) -> None:
    """Source: pint, C."""
    assert ML_PER_VESSEL[vessel] == pytest.approx(UNITS.Quantity(1, name).to("ml").magnitude, rel=1e-9)
    assert ML_PER_VESSEL[vessel] == pytest.approx(printed, abs=0.001)
