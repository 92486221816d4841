"""Doughs without gluten: how much water they take. Percent of the flour, and moisture on the wet basis.

Semolina's 30 to 33 % do not hold for them: no gluten binds the crumb, starch alone takes up the water. Two
published doughs bound a band for rice and what is like it: 36 % moisture, the most of a series of rice and
buckwheat pasta (Foods 2019, 8(10):496, abstract read; cooked in the extruder at 80 to 120 C), and 40 % for
rice pressed at 50 to 55 C (University of Milan pilot plant, excerpt read). For doughs of legumes it begins at
30 %, where rice with 40 % of chickpea was best (Foods 2025, 14:2524, abstract read). None of them is a cold
bench press: the marks are where to begin, and the squeeze decides.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.dough.moisture import hydration_of_moisture_pct

FLOUR_MOISTURE_PCT = 12.0
"""Moisture of such a flour (%): SR28 has 11.9 % for white rice flour (from memory)."""
STEP_PCT = 0.5
_LEGUMES = ("chickpea", "lentil", "pea", "bean", "lupin", "soy")


@dataclass(frozen=True, slots=True)
class Marks:
    """Hydration (%) of a dough: low, target, high."""

    low_pct: float
    target_pct: float
    high_pct: float


def _marks(low_moisture: float, high_moisture: float) -> Marks:
    """Marks between two moistures of the dough (%, wet basis), the target half way."""
    low, high = (
        hydration_of_moisture_pct(moisture, FLOUR_MOISTURE_PCT) for moisture in (low_moisture, high_moisture)
    )
    return Marks(low, (low + high) / 2.0, high)


STARCHY = _marks(36.0, 40.0)
"""Rice; maize, buckwheat, other grains and starches have the same: common practice, no source."""
LEGUME = _marks(30.0, 36.0)
"""Chickpea, lentil, pea, bean: at second hand, from blends with rice."""


def marks_of(flours: Iterable[tuple[str, float]]) -> Marks:
    """Marks of a dough of these flours, each a name and its share (%): the mean by share, to half a point."""
    parts = [(LEGUME if _is_legume(name) else STARCHY, share) for name, share in flours if share > 0]
    whole = sum(share for _, share in parts)

    def mean(of: str) -> float:
        found = sum(float(getattr(marks, of)) * share for marks, share in parts) / whole
        return round(found / STEP_PCT) * STEP_PCT

    return Marks(mean("low_pct"), mean("target_pct"), mean("high_pct"))


def _is_legume(name: str) -> bool:
    words = name.casefold().split()
    return any(word.rstrip("s") in _LEGUMES for word in words)
