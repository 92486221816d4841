"""Heat at the die: how warm the dough leaves it. Degrees Celsius, kJ per kg of dough.

dT = specific mechanical energy / specific heat: an upper bound, for a cooled barrel takes part of the heat
away and the walls of any machine some. The order of the energy is 70 kJ/kg, from press to press 1:5:
Abecassis et al. 1994, Cereal Chem. 71:247 (secondary). Only a thermometer in the strand says what one machine
does.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import median

from assistant.dough.moisture import moisture_of_hydration_pct
from assistant.dough.ranges import DIE_KJ_PER_KG, DOUGH_C, EXIT_C, WATER_CONTENT_PCT

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


def energy_kj_per_kg(hydration_pct: float, dough_c: float, exit_c: float) -> float | None:
    """Specific energy (kJ per kg of dough) by the temperature of the strand; inverse of `rise_c`.

    None where the strand is no warmer than the dough, or by more than any press does: one was told wrongly.
    What a cooled barrel took away is not in it.
    """
    moisture = moisture_of_hydration_pct(hydration_pct, FLOUR_MOISTURE_PCT)
    found = (EXIT_C.check(exit_c) - dough_c) * specific_heat(moisture, dough_c)
    return found if 0 < found <= DIE_KJ_PER_KG.most else None


@dataclass(frozen=True, slots=True)
class LearnedEnergy:
    """Specific energy of one die, by its spoken temperatures."""

    kj_per_kg: float
    """Their median (kJ per kg of dough)."""
    error: float | None
    """Standard error of a mean of as many (kJ/kg); None with one, which says nothing of the spread."""
    readings: int


def learned_energy(measured: Sequence[float]) -> LearnedEnergy | None:
    """What spoken temperatures say of a die (kJ/kg each); None without any."""
    count = len(measured)
    if count == 0:
        return None
    if count == 1:
        return LearnedEnergy(measured[0], None, 1)
    mean = sum(measured) / count
    variance = sum((one - mean) ** 2 for one in measured) / (count - 1)
    return LearnedEnergy(median(measured), sqrt(variance / count), count)


CAUTION_C = 45.0
"""From here on a strand is called (C): the upper end at which pasta was firmest, `temperature.FIRMEST_C`."""
TOO_HOT_C = 50.0
"""Above it gluten is damaged (C): secondary source, `ranges.DOUGH_C`."""
LOOK_BACK_S, LOOK_AHEAD_S = 7200.0, 1800.0
"""Temperatures of this long ago count for how it climbs, and 50 C is called when it is this near (s)."""
LEAST_READINGS, LEAST_CLIMB_C = 3, 2.0
"""Fewer readings, or less between first and last (C), are no climb: a probe is read to about 1 C."""


def seconds_to_too_hot(readings: Sequence[tuple[float, float]]) -> float | None:
    """In how long (s) a strand will be at 50 C, by its readings (time s, C), oldest first; None: not soon.

    The slope is the median of those between any two readings (Theil and Sen), so that one that was read
    wrongly does not count.
    """
    if not readings:
        return None
    now, last = readings[-1]
    seen = [(at, celsius) for at, celsius in readings if now - at <= LOOK_BACK_S]
    slopes = [
        (warmer - celsius) / (later - at)
        for place, (at, celsius) in enumerate(seen)
        for later, warmer in seen[place + 1 :]
        if later > at
    ]
    if len(seen) < LEAST_READINGS or last - seen[0][1] < LEAST_CLIMB_C or not slopes:
        return None
    slope = median(slopes)
    left = (TOO_HOT_C - last) / slope if slope > 0 else None
    return left if left is not None and 0 < left <= LOOK_AHEAD_S else None
