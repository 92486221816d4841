"""Moisture: water as percent of the whole mass (wet basis), of flour and of dough; and its way to hydration and back.

Hydration (`hydration.py`) is water added per 100 of flour as weighed; dough moisture counts the flour's own water
too: 31 % hydration on flour of 14 % moisture is 34.35 % moisture. All formulas are mass balance; where a standard
has the same, its name stands beside it.
"""

from collections.abc import Iterable

from assistant.dough.ranges import between, not_negative, positive
from assistant.errors import DoughError

REFERENCE_MOISTURE_PCT = 14.0
"""Basis on which flours are compared: ICC Standard 115/1 states absorption per 100 g flour at 14.0 % moisture."""

FLOUR_LIMITS_PCT = {"Italy": 14.5, "United States": 15.0}
"""Most moisture of durum semolina: Italian law 580/1967 art. 9 (read in a bill that amends it), 21 CFR 137.320(a)."""

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
    flour = positive("flour", flour_g)
    wet = flour * _moisture("flour moisture", flour_moisture_pct) / 100.0 + not_negative("water", water_g)
    mass = flour + water_g
    for grams, water_pct in additions:
        wet += not_negative("addition", grams) * between("water content", water_pct, 0, 100, "%") / 100.0
        mass += grams
    return 100.0 * wet / mass


def water_for_moisture_g(flour_g: float, flour_moisture_pct: float, dough_moisture: float) -> float:
    """Water (g) that gives a dough of this moisture (%); inverse of `dough_moisture_pct` in the water.

    Raises DoughError where the dough would have to be drier than its flour: water is never negative.
    """
    positive("flour", flour_g)
    flour_moisture = _moisture("flour moisture", flour_moisture_pct)
    between("dough moisture", dough_moisture, 0, 99, "%")
    if dough_moisture <= flour_moisture:
        raise DoughError(
            f"dough moisture {dough_moisture:g} % on flour of {flour_moisture:g} %: it must be above the flour's own; "
            "aim higher, or use drier flour."
        )
    return flour_g * (dough_moisture - flour_moisture) / (100.0 - dough_moisture)


def moisture_of_hydration_pct(hydration: float, flour_moisture_pct: float) -> float:
    """Dough moisture (%, wet basis) of plain dough at this hydration (%)."""
    return dough_moisture_pct(100.0, flour_moisture_pct, hydration)


def hydration_of_moisture_pct(dough_moisture: float, flour_moisture_pct: float) -> float:
    """Hydration (%) of plain dough of this moisture (%, wet basis); inverse of `moisture_of_hydration_pct`."""
    return water_for_moisture_g(100.0, flour_moisture_pct, dough_moisture)


def corrected_hydration_pct(hydration: float, moisture_pct: float, other_moisture_pct: float) -> float:
    """Hydration (%) that gives, with flour of another moisture, the same water per dry matter.

    About 1.52 points of hydration for a point of moisture at 31 % and 14 %. Raises DoughError where the other
    flour alone is wetter than the dough.
    """
    not_negative("hydration", hydration, "%")
    own = _moisture("flour moisture", moisture_pct)
    other = _moisture("other flour's moisture", other_moisture_pct)
    found = (100.0 - other) * (own + hydration) / (100.0 - own) - other
    if found < 0:
        raise DoughError(
            f"flour of {other:g} % moisture is wetter than the dough of {hydration:g} % hydration on {own:g} %: "
            "no water can be left out; use drier flour."
        )
    return found


def constituent_at_basis_pct(constituent_pct: float, moisture_pct: float, basis_pct: float) -> float:
    """A constituent (%) of a flour at one moisture (%), stated at another; its own inverse with the two exchanged.

    Fixed-moisture-basis conversion: "Moisture Basis Conversions for Grain Composition Data", PM-1625, Iowa State
    University Extension.
    """
    between("constituent", constituent_pct, 0, 100, "%")
    return (
        constituent_pct
        * (100.0 - _moisture("basis", basis_pct))
        / (100.0 - _moisture("moisture", moisture_pct))
    )


def mass_at_basis_g(mass_g: float, moisture_pct: float, basis_pct: float) -> float:
    """Mass (g) that the same dry matter has at another moisture (%): flour on a basis, pasta that dries."""
    dry = not_negative("mass", mass_g) * (100.0 - _moisture("moisture", moisture_pct))
    return dry / (100.0 - _moisture("basis", basis_pct))


def blend_moisture_pct(parts: Iterable[tuple[float, float]]) -> float:
    """Moisture (%) of a blend of flours, each as (g, moisture %). Raises DoughError without flour."""
    mass = water = 0.0
    for grams, moisture in parts:
        mass += not_negative("flour", grams)
        water += grams * _moisture("flour moisture", moisture) / 100.0
    return 100.0 * water / positive("flour in all", mass)


def oven_moisture_pct(before_g: float, after_g: float, dish_g: float = 0.0) -> float:
    """Moisture (%, wet basis) from the mass before and after drying (g), dish included; see `OVEN_METHODS`.

    Raises DoughError where the sample gained mass, or nothing was left of it.
    """
    not_negative("dish", dish_g)
    sample = positive("sample before drying", before_g - dish_g)
    left = positive("sample after drying", after_g - dish_g)
    if left > sample:
        raise DoughError(
            f"after drying {left:g} g, before it {sample:g} g: drying takes mass away; weigh again, or exchange the two."
        )
    return 100.0 * (sample - left) / sample


def dry_basis_pct(moisture_pct: float) -> float:
    """Water per 100 of dry matter, from moisture on the wet basis (%)."""
    return 100.0 * _moisture("moisture", moisture_pct) / (100.0 - moisture_pct)


def bowl_flour_g(moisture_pct: float, bowl_g: float = 300.0) -> float:
    """Flour (g) of this moisture (%) with the dry matter of `bowl_g` (300 or 50) at 14 %.

    ISO 5530-1:2013 Table 1 (formula from memory; it is this balance of dry matter).
    """
    return mass_at_basis_g(bowl_g, REFERENCE_MOISTURE_PCT, moisture_pct)


def absorption_pct(volume_ml: float, moisture_pct: float, bowl_g: float = 300.0) -> float:
    """Farinograph absorption (ml per 100 g of flour at 14 %) from the water that a bowl took (ml).

    Constant flour mass. ISO 5530-1:2013 clause 9 (from memory; follows from the definition in ICC 115/1).
    """
    flour = bowl_flour_g(moisture_pct, bowl_g)
    return (not_negative("volume", volume_ml, "ml") + flour - bowl_g) * 100.0 / bowl_g


def limits_passed(moisture_pct: float) -> list[str]:
    """Countries whose most moisture of durum semolina this flour passes; check the primary text before you claim it."""
    found = _moisture("flour moisture", moisture_pct)
    return [country for country, most in FLOUR_LIMITS_PCT.items() if found > most]


def _moisture(what: str, percent: float) -> float:
    """A moisture that leaves some dry matter."""
    return between(what, percent, 0, 99, "%")
