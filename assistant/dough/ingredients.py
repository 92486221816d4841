"""Wet and dry additions by their water: what they bring to a batch, and what is left to pour.

Water content is a first estimate: fibre holds some of it, and a puree squeezed dry differs by tens of points
from any table. What the kitchen measured counts more; the crumb decides.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assistant.dough.hydration import flour_for_g, water_for_g
from assistant.dough.moisture import dough_moisture_pct
from assistant.dough.ranges import FLOUR_G, TARGET_PCT, WATER_CONTENT_PCT, recorded
from assistant.errors import DoughError


class TooWetError(DoughError):
    """Wet ingredients alone pass the target."""


@dataclass(frozen=True, slots=True)
class Addition:
    """An ingredient besides flour and water."""

    name: str
    grams: float
    water_pct: float
    """Its water content (% of its own mass)."""

    @property
    def water_g(self) -> float:
        """Water that it brings (g)."""
        return water_in_g(self.grams, self.water_pct)


def water_in_g(grams: float, water_pct: float) -> float:
    """Water (g) in an ingredient of this water content (%)."""
    return recorded("ingredient", grams) * WATER_CONTENT_PCT.check(water_pct) / 100.0


def additions_water_g(additions: Iterable[Addition]) -> float:
    """Water (g) that all additions bring."""
    return sum(addition.water_g for addition in additions)


def water_to_pour_g(flour_g: float, target_pct: float, additions: Sequence[Addition]) -> float:
    """Water (g) still to pour for the target (% hydration in all), the additions' water counted.

    Raises TooWetError where they alone pass it: never a negative pour.
    """
    wanted = water_for_g(FLOUR_G.check(flour_g), TARGET_PCT.check(target_pct))
    brought = additions_water_g(additions)
    if brought > wanted:
        flour = flour_for_g(brought, target_pct) - flour_g
        wettest = max(additions, key=lambda addition: addition.water_g)
        raise TooWetError(
            f"{', '.join(one.name for one in additions)}: {brought:.1f} g of water, and {target_pct:g} % of "
            f"{flour_g:g} g flour is {wanted:.1f} g; take less {wettest.name}, or {flour:.1f} g more flour."
        )
    return wanted - brought


@dataclass(frozen=True, slots=True)
class Dough:
    """A dough with its additions."""

    flour_g: float
    pour_g: float
    """Water to pour (g)."""
    water_g: float
    """Water in all, the additions' counted (g)."""
    mass_g: float
    """Flour, water and additions together (g)."""
    hydration_pct: float
    """Water in all per 100 of flour (%)."""
    moisture_pct: float | None
    """Moisture (%, wet basis); None where the flour's moisture is not known."""


def dough_with(
    flour_g: float, target_pct: float, additions: Sequence[Addition], flour_moisture_pct: float | None = None
) -> Dough:
    """The dough that these make at the target. Raises TooWetError where the additions pass it."""
    pour = water_to_pour_g(flour_g, target_pct, additions)
    moisture = None
    if flour_moisture_pct is not None:
        parts = [(one.grams, one.water_pct) for one in additions]
        moisture = dough_moisture_pct(flour_g, flour_moisture_pct, pour, parts)
    return Dough(
        flour_g=flour_g,
        pour_g=pour,
        water_g=pour + additions_water_g(additions),
        mass_g=flour_g + pour + sum(one.grams for one in additions),
        hydration_pct=target_pct,
        moisture_pct=moisture,
    )
