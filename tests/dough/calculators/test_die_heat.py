"""Heat at the die against the composition of foods and the heat balance of the dough."""

import pytest

from assistant.dough import temperature
from assistant.dough.calculators import die_heat
from assistant.dough.moisture import moisture_of_hydration_pct


def test_water_and_dried_pasta() -> None:
    """Water: 4.18 kJ/kg K (textbook, V). Macaroni of 12.5-13.5 % moisture: 1.84-1.88 (table A.4-1 of a
    textbook of transport processes, 4th ed., V); so dry, Choi and Okos come out 7 % higher.
    """
    assert die_heat.specific_heat(100, 20) == pytest.approx(4.18, abs=0.01)
    assert die_heat.specific_heat(13, 25) == pytest.approx(1.86, rel=0.08)


def test_bread_of_the_same_moisture() -> None:
    """White bread of 44-45 % moisture: 2.72-2.85 kJ/kg K (the same table, V)."""
    assert die_heat.specific_heat(44.5, 25) == pytest.approx(2.785, abs=0.065)


def test_the_rise_is_energy_by_specific_heat() -> None:
    """70 kJ/kg: the order of Abecassis et al. 1994, secondary. 2.54 kJ/kg K at 34.35 % by Choi and Okos: 27.6
    C.

    The two-part balance of the water (1.76 and 4.18, V) comes to 2.33 kJ/kg K and 30.0 C: 9 % apart.
    """
    found = die_heat.rise_c(31, 28)
    assert found == pytest.approx(27.6, abs=0.3)
    two_parts = (temperature.FLOUR_KJ_PER_KG_K + 0.31 * temperature.WATER_KJ_PER_KG_K) / 1.31
    assert found == pytest.approx(70 / two_parts, rel=0.1)


def test_a_wetter_dough_warms_less() -> None:
    assert die_heat.rise_c(36, 28) < die_heat.rise_c(31, 28)
    assert moisture_of_hydration_pct(31, die_heat.FLOUR_MOISTURE_PCT) == pytest.approx(34.351, abs=0.005)
    assert die_heat.rise_c(31, 28, 0) == 0
