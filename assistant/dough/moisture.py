"""Moisture: water as percent of the whole mass (wet basis), of flour and of dough; to hydration and back.

Hydration (`hydration.py`) is water added per 100 of flour as weighed; dough moisture counts the flour's own
water too: 31 % hydration on flour of 14 % moisture is 34.35 % moisture. All formulas are mass balance; where
a standard has the same, its name is beside it.
"""

from collections.abc import Iterable

from assistant.dough.ranges import (
    DISH_G,
    DOUGH_MOISTURE_PCT,
    FLOUR_G,
    FLOUR_MOISTURE_PCT,
    HYDRATION_PCT,
    INGREDIENT_G,
    SAMPLE_G,
    WATER_CONTENT_PCT,
    WATER_G,
)
from assistant.errors import DoughError

REFERENCE_MOISTURE_PCT = 14.0
"""Basis on which flours are compared: ICC Standard 115/1 has absorption per 100 g at 14.0 % moisture."""

FLOUR_LIMITS_PCT = {"Italy": 14.5, "United States": 15.0}
"""Most moisture of durum semolina: law 580/1967 art. 9 (read in a bill that amends it), 21 CFR 137.320(a)."""

OVEN_METHODS = (
    "ISO 712-1:2024 (reference method for wheat, semolina and flour) or AACC 44-15 (air oven, 130 C); "
    "time and dish by the method's own text"
)
"""Scope of ISO 712-1 and first page of AACC 44-15 read; the drying times were not."""


def dough_moisture_pct(
    flour_g: float,
    flour_moisture_pct: float,
    water_g: float,
    additions: Iterable[tuple[float, float]] = (),
) -> float:
    """Moisture (%, wet basis) of a dough; `additions`: wet or dry ones as (g, water %). Raises DoughError."""
    wet = FLOUR_G.check(flour_g) * FLOUR_MOISTURE_PCT.check(flour_moisture_pct) / 100.0 + WATER_G.check(
        water_g
    )
    mass = flour_g + water_g
    for grams, water_pct in additions:
        wet += INGREDIENT_G.check(grams) * WATER_CONTENT_PCT.check(water_pct) / 100.0
        mass += grams
    return 100.0 * wet / mass


def water_for_moisture_g(flour_g: float, flour_moisture_pct: float, dough_moisture: float) -> float:
    """Water (g) that makes a dough of this moisture (%); inverse of `dough_moisture_pct` in the water.

    Raises DoughError where the dough would have to be drier than its flour: water is never negative.
    """
    FLOUR_G.check(flour_g)
    own = FLOUR_MOISTURE_PCT.check(flour_moisture_pct)
    wanted = DOUGH_MOISTURE_PCT.check(dough_moisture)
    if wanted <= own:
        raise DoughError(
            f"dough moisture {wanted:g} % on flour of {own:g} %: it must be above the flour's own; "
            "aim higher, or use drier flour."
        )
    return flour_g * (wanted - own) / (100.0 - wanted)


def moisture_of_hydration_pct(hydration: float, flour_moisture_pct: float) -> float:
    """Dough moisture (%, wet basis) of plain dough at this hydration (%)."""
    return dough_moisture_pct(100.0, flour_moisture_pct, hydration)


def hydration_of_moisture_pct(dough_moisture: float, flour_moisture_pct: float) -> float:
    """Hydration (%) of plain dough of this moisture (%, wet basis); undoes `moisture_of_hydration_pct`."""
    return water_for_moisture_g(100.0, flour_moisture_pct, dough_moisture)


def corrected_hydration_pct(hydration: float, moisture_pct: float, other_moisture_pct: float) -> float:
    """Hydration (%) that makes, with flour of another moisture, a dough of the same water per dry matter.

    About 1.52 points of hydration for a point of moisture at 31 % and 14 %. Raises DoughError where the other
    flour alone is wetter than the dough.
    """
    HYDRATION_PCT.check(hydration)
    own = FLOUR_MOISTURE_PCT.check(moisture_pct)
    other = FLOUR_MOISTURE_PCT.check(other_moisture_pct, "other flour's moisture")
    found = (100.0 - other) * (own + hydration) / (100.0 - own) - other
    if found < 0:
        raise DoughError(
            f"flour of {other:g} % moisture is wetter than the dough of {hydration:g} % hydration "
            f"on {own:g} %: no water can be left out; use drier flour."
        )
    return found


def blend_moisture_pct(parts: Iterable[tuple[float, float]]) -> float:
    """Moisture (%) of a blend of flours, each as (g, moisture %). Raises DoughError without flour."""
    mass = water = 0.0
    for grams, moisture in parts:
        mass += FLOUR_G.check(grams)
        water += grams * FLOUR_MOISTURE_PCT.check(moisture) / 100.0
    if mass == 0:
        raise DoughError("no flour: a blend is of one lot or more; name them.")
    return 100.0 * water / mass


def oven_moisture_pct(before_g: float, after_g: float, dish_g: float = 0.0) -> float:
    """Flour's moisture (%, wet basis) from its mass before and after drying (g), dish included.

    See `OVEN_METHODS`. Raises DoughError where the sample lost nothing, or more than flour can lose.
    """
    DISH_G.check(dish_g)
    sample = SAMPLE_G.check(SAMPLE_G.check(before_g, "before drying") - dish_g, "sample before drying")
    left = SAMPLE_G.check(after_g, "after drying") - dish_g
    if left >= sample:
        raise DoughError(
            f"after drying {left:g} g, before it {sample:g} g: drying takes mass away; weigh again, "
            "or exchange the two."
        )
    return FLOUR_MOISTURE_PCT.check(100.0 * (sample - left) / sample, "moisture found")


def dry_basis_pct(moisture_pct: float) -> float:
    """Water per 100 of dry matter, from moisture on the wet basis (%)."""
    return 100.0 * FLOUR_MOISTURE_PCT.check(moisture_pct) / (100.0 - moisture_pct)


def limits_passed(moisture_pct: float) -> list[str]:
    """Countries whose limit for the moisture of durum semolina this flour passes.

    Check the primary text before you claim it.
    """
    found = FLOUR_MOISTURE_PCT.check(moisture_pct)
    return [country for country, most in FLOUR_LIMITS_PCT.items() if found > most]
