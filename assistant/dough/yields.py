"""Dough, portions and batches that flour makes; scaling; flour that mends a wet dough. Masses in grams.

What a portion weighs, what is lost and what cooking adds stand here and nowhere else: settings, recipes,
plans and `crumbcall dough yield` all go by them.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.dough.hydration import rescue_flour_g
from assistant.dough.ranges import (
    FLOUR_G,
    HOPPER_G,
    HYDRATION_PCT,
    INGREDIENT_G,
    LOSS_PCT,
    PORTION_G,
    PORTIONS,
    TARGET_PCT,
    WATER_CONTENT_PCT,
    WATER_G,
    recorded,
    recorded_above_zero,
)
from assistant.errors import DoughError

USUAL_PORTION_G = 120.0
"""Raw pasta of a portion (g), where neither recipe nor kitchen says: 120 to 140 g is a main course (common
practice, no source)."""
USUAL_LOSS_PCT = 4.0
"""Scrap and purge (% of the dough), where the kitchen does not say: common practice, no source."""
COOKED_WATER_PCT = 68.56
"""Water of fresh pasta once it is cooked (%, wet basis): USDA SR28, NDB 20094."""

_NOISE = 1e-9
"""Rounding noise that must not cost a portion or make a batch."""


@dataclass(frozen=True, slots=True)
class Rescue:
    """What it takes to bring a dough that is too wet down to a hydration."""

    flour_g: float
    """Flour to add (g); 0 where the dough is not too wet."""
    whole_g: float
    """The same in whole grams, rounded up: what is said and weighed. With it the dough is at the mark."""
    dough_g: float
    """Dough with that flour (g), not rounded."""
    over_hopper_g: float
    """Dough that the hopper does not hold (g), not rounded."""
    stays: float
    """Share of the wet dough that the hopper holds together with the flour that this share wants (0 to 1)."""

    def with_room_made(self, in_hopper_g: float) -> tuple[float, float]:
        """Wet dough to take out of what is in the hopper, and flour for the rest: whole grams, rounded up."""
        out = float(math.ceil(in_hopper_g * (1.0 - self.stays) - _NOISE))
        return out, float(math.ceil(self.flour_g * (1.0 - out / in_hopper_g) - 1e-6))


def mended(flour_g: float, water_g: float, pct: float, hopper_g: float, *, beside_g: float = 0.0) -> Rescue:
    """Flour that brings a dough that is too wet down to `pct`, whatever the account says.

    `beside_g`: what additions bring beside their water; it fills the hopper (g) and changes no flour.
    """
    more = rescue_flour_g(flour_g, water_g, pct)
    whole = float(math.ceil(more - 1e-6))
    dough = flour_g + water_g + beside_g + more
    return Rescue(more, whole, dough, max(0.0, dough - hopper_g), min(1.0, hopper_g / dough))


def rescue(flour_g: float, water_g: float, pct: float, hopper_g: float) -> Rescue:
    """The same of figures that somebody typed: each has its range. Raises DoughError."""
    FLOUR_G.check(flour_g)
    WATER_G.check(water_g)
    TARGET_PCT.check(pct)
    HOPPER_G.check(hopper_g)
    return mended(flour_g, water_g, pct, hopper_g)


def dough_g(flour_g: float, hydration_pct: float) -> float:
    """Mass (g) of plain dough."""
    return FLOUR_G.check(flour_g) * (1.0 + HYDRATION_PCT.check(hydration_pct) / 100.0)


def net_dough_g(dough_mass_g: float, loss_pct: float) -> float:
    """Dough (g) that is left after scrap and loss (%)."""
    return recorded("dough", dough_mass_g) * (1.0 - LOSS_PCT.check(loss_pct) / 100.0)


def portions(net_g: float, portion_g: float) -> int:
    """Whole portions (g each, raw) in a mass of dough: rounded down, for half a portion can't be served."""
    return math.floor(recorded("dough", net_g) / recorded_above_zero("portion", portion_g) + _NOISE)


def flour_for_portions_g(count: int, portion_g: float, loss_pct: float, hydration_pct: float) -> float:
    """Flour (g) for a number of portions (g each, raw) at this hydration and loss (%)."""
    wanted = PORTIONS.check(count) * PORTION_G.check(portion_g)
    return (
        wanted
        / (1.0 - LOSS_PCT.check(loss_pct) / 100.0)
        / (1.0 + recorded("hydration", hydration_pct, "%") / 100.0)
    )


def batches_for(wanted: int, of_a_batch: int) -> int:
    """Batches for these portions, where a batch makes `of_a_batch` whole ones. Raises DoughError where none.

    What is left of a batch is no portion of the next one: it is not counted across batches.
    """
    if of_a_batch < 1:
        raise DoughError(
            "a batch of this flour makes no whole portion; give more flour, or a smaller portion."
        )
    return math.ceil(wanted / of_a_batch)


def cooked_ratio(raw_water_pct: float, cooked_water_pct: float) -> float:
    """Cooked mass per raw mass of pasta, dry matter kept: solids lost to the water are not counted."""
    raw = WATER_CONTENT_PCT.check(raw_water_pct, "raw water")
    return (100.0 - raw) / (100.0 - WATER_CONTENT_PCT.check(cooked_water_pct, "cooked water"))


@dataclass(frozen=True, slots=True)
class Yield:
    """What a dough comes to on the plate."""

    net_g: float
    """Dough (g) after scrap and loss."""
    portions: int
    """Whole portions."""
    cooked_portion_g: float
    """A portion as cooked (g)."""

    @property
    def cooked_g(self) -> float:
        """All whole portions as cooked (g)."""
        return self.portions * self.cooked_portion_g


def yield_of(dough_mass_g: float, dough_moisture_pct: float, portion_g: float, loss_pct: float) -> Yield:
    """What a dough of this mass (g) and moisture (%, wet basis: not its hydration) comes to.

    Raises DoughError. Cooking is reckoned to the water of cooked pasta, `COOKED_WATER_PCT`; shape and time
    change it by tenths.
    """
    net = net_dough_g(dough_mass_g, loss_pct)
    ratio = cooked_ratio(dough_moisture_pct, COOKED_WATER_PCT)
    return Yield(net, portions(net, portion_g), portion_g * ratio)


def scaled(masses_g: Mapping[str, float], flour: str, wanted_flour_g: float) -> dict[str, float]:
    """All masses of a batch (g), for another mass of its flour (g). Scaling back returns the first."""
    if flour not in masses_g:
        raise DoughError(
            f"no {flour} among {', '.join(masses_g) or 'nothing'}; name the flour that is scaled by."
        )
    factor = FLOUR_G.check(wanted_flour_g, "wanted flour") / FLOUR_G.check(masses_g[flour], flour)
    return {name: INGREDIENT_G.check(grams, name) * factor for name, grams in masses_g.items()}
