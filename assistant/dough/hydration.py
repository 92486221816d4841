"""Hydration: water as percent of the flour's mass, both as weighed (baker's percent, flour = 100).

Baker's percent: "Bakers Percent", Baker's Dictionary, bakingbusiness.com. The rest is mass balance.
Hydration is not dough moisture (wet basis): 31 % hydration on flour of 14 % moisture is 34.35 % moisture.
"""

import math


def hydration_pct(water_g: float, flour_g: float) -> float:
    """Water (g) in percent of flour (g). Raises ValueError without flour, or where either is not a mass."""
    if not 0 < flour_g < math.inf:
        raise ValueError(f"flour {flour_g} g: hydration needs more than 0 g")
    if not 0 <= water_g < math.inf:
        raise ValueError(f"water {water_g} g: must be 0 g or more")
    return 100.0 * water_g / flour_g


def water_for_g(flour_g: float, pct: float) -> float:
    """Water (g) that makes `pct` hydration; inverse of `hydration_pct` in the water."""
    if not (0 <= flour_g < math.inf and 0 <= pct < math.inf):
        raise ValueError(f"flour {flour_g} g at {pct} %: both must be 0 or more")
    return flour_g * pct / 100.0


def flour_for_g(water_g: float, pct: float) -> float:
    """Flour (g) in which `water_g` makes `pct` hydration; inverse of `hydration_pct` in the flour."""
    if not (0 <= water_g < math.inf and 0 < pct < math.inf):
        raise ValueError(f"water {water_g} g at {pct} %: water must be 0 or more, percent more than 0")
    return 100.0 * water_g / pct


def rescue_flour_g(flour_g: float, water_g: float, pct: float) -> float:
    """Flour (g) to add so that hydration falls to `pct`; 0 where it is not above."""
    if not 0 <= flour_g < math.inf:
        raise ValueError(f"flour {flour_g} g: must be 0 g or more")
    return max(0.0, flour_for_g(water_g, pct) - flour_g)


def most_flour_g(hopper_g: float, pct: float) -> float:
    """Most flour (g) whose dough at `pct` hydration the hopper (g of product) still holds."""
    if not (0 <= hopper_g < math.inf and 0 <= pct < math.inf):
        raise ValueError(f"hopper {hopper_g} g at {pct} %: both must be 0 or more")
    return hopper_g / (1.0 + pct / 100.0)


def round_down(grams: float, step: float) -> float:
    """Largest multiple of `step` (g) that is not above `grams`, forgiving rounding noise of 1e-9."""
    return math.floor(grams / step + 1e-9) * step
