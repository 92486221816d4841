"""Heat at the die: how warm the dough leaves it. Degrees Celsius, kJ per kg of dough.

dT = specific mechanical energy / specific heat: an upper bound, for a cooled barrel takes part of the heat
away and the walls of any machine some. The order of the energy is 70 kJ/kg, from press to press 1:5:
Abecassis et al. 1994, Cereal Chem. 71:247 (secondary). Only a thermometer in the strand says what one machine
does.
"""

from assistant.dough.moisture import moisture_of_hydration_pct
from assistant.dough.ranges import DIE_KJ_PER_KG, DOUGH_C, WATER_CONTENT_PCT

AUTHORITY = "70 kJ/kg is a press's order, 1:5 from one to the next (Abecassis et al. 1994, at second hand)"
"""Whose figure the energy is, in a clause."""
USUAL_KJ_PER_KG = 70.0
"""Specific energy of a press, its order."""
FLOUR_MOISTURE_PCT = 14.0
"""Moisture of a flour that was not measured (%): the reference basis of ICC Standard 115/1."""
_PROTEIN, _FAT, _ASH = 0.13, 0.01, 0.009
"""Of the flour's dry matter, durum semolina, rounded: from memory. The rest is carbohydrate; half as much
protein again changes the specific heat by less than 1 %."""


def specific_heat(moisture_pct: float, celsius: float) -> float:
    """Specific heat (kJ/kg K) of a dough of this moisture (%, wet basis) from its composition.

    Choi and Okos 1986, valid above 0 C (read as reprinted, studylib.net/doc/9707268; ash from memory).
    """
    water = WATER_CONTENT_PCT.check(moisture_pct, "dough moisture") / 100.0
    t = DOUGH_C.check(celsius)
    of_dry = (
        _PROTEIN * (2.0082 + 1.2089e-3 * t - 1.3129e-6 * t**2)
        + _FAT * (1.9842 + 1.4373e-3 * t - 4.8008e-6 * t**2)
        + _ASH * (1.0926 + 1.8896e-3 * t - 3.6817e-6 * t**2)
        + (1.0 - _PROTEIN - _FAT - _ASH) * (1.5488 + 1.9625e-3 * t - 5.9399e-6 * t**2)
    )
    return water * (4.1762 - 9.0864e-5 * t + 5.4731e-6 * t**2) + (1.0 - water) * of_dry


def rise_c(hydration_pct: float, dough_c: float, energy_kj_per_kg: float = USUAL_KJ_PER_KG) -> float:
    """How much warmer (C) a plain dough leaves the die, where nothing cools it: at most this much."""
    moisture = moisture_of_hydration_pct(hydration_pct, FLOUR_MOISTURE_PCT)
    return DIE_KJ_PER_KG.check(energy_kj_per_kg) / specific_heat(moisture, dough_c)
