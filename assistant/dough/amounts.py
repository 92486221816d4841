"""Masses and volumes as they are said, and what they weigh.

Density of water: IAPWS-95 at 101.325 kPa (as printed by the libraries CoolProp 8.0.0 and iapws 1.5.5, which
agree to 0.001 kg/m3); linear between the rows: error below 0.07 kg/m3. Rows at 0, 55 and 60 C: iapws alone.
"""

from bisect import bisect_right
from dataclasses import dataclass
from typing import Literal

from assistant.dough.ranges import VOLUME_C

Unit = Literal["g", "kg", "lb", "oz", "ml", "l"]

GRAMS_PER: dict[Unit, float] = {"g": 1.0, "kg": 1000.0, "lb": 453.59237, "oz": 28.349523125}
"""Exact by definition of the international pound, 1959 (units of volume need a density: `Amount.grams`)."""
ML_PER_VESSEL = {
    "us cup": 236.5882365,
    "us pint": 473.176473,
    "imperial pint": 568.26125,
    "metric cup": 250.0,
}
"""Millilitres of what some recipes measure in: cups and pints differ by country, and are never taken without
it. US by the inch and imperial by definition, as pint has them; the metric cup is common practice, no
source."""
MILLILITRES_PER: dict[Unit, float] = {"ml": 1.0, "l": 1000.0}


@dataclass(frozen=True, slots=True)
class Amount:
    """A mass or a volume as it was said."""

    value: float
    unit: Unit = "g"
    exact: bool = False
    """Whether the number can't be misheard (typed in digits, weighed): it has no twin then."""

    def grams(self, density_g_per_ml: float) -> float:
        """Mass in grams; a volume is converted by the liquid's density (g/ml)."""
        if self.unit in MILLILITRES_PER:
            return self.value * MILLILITRES_PER[self.unit] * density_g_per_ml
        return self.value * GRAMS_PER[self.unit]


_CELSIUS = (0.0, 4.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0)
_KG_PER_M3 = (
    *(999.843, 999.975, 999.702, 999.103, 998.207, 997.048, 995.649, 994.033, 992.216, 990.213),
    *(988.035, 985.693, 983.196),
)


def density_g_per_ml(celsius: float) -> float:
    """Density of water (g/ml) from 0 to 60 C. Raises DoughError outside."""
    upper = min(bisect_right(_CELSIUS, VOLUME_C.check(celsius)), len(_CELSIUS) - 1)
    t0, t1 = _CELSIUS[upper - 1], _CELSIUS[upper]
    d0, d1 = _KG_PER_M3[upper - 1], _KG_PER_M3[upper]
    return (d0 + (d1 - d0) * (celsius - t0) / (t1 - t0)) / 1000.0


def grams_of_ml(millilitres: float, celsius: float) -> float:
    """Mass (g) of this volume of water (ml) at this temperature, from 0 to 60 C."""
    return millilitres * density_g_per_ml(celsius)


def millilitres_of_g(grams: float, celsius: float) -> float:
    """Volume (ml) of this mass of water (g) at this temperature; inverse of `grams_of_ml`."""
    return grams / density_g_per_ml(celsius)
