"""Density of water, to turn a measured volume into mass.

Table: IAPWS-95 at 101.325 kPa (as printed by the libraries CoolProp 8.0.0 and iapws 1.5.5, which agree to
0.001 kg/m3); linear between the rows: error below 0.07 kg/m3. Rows at 0, 55 and 60 C: iapws alone.
"""

from bisect import bisect_right

from assistant.dough.ranges import VOLUME_C

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
