"""How much dough, how many portions, how many batches; scaling; the flour that mends a wet dough. Masses in grams."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.dough.hydration import most_flour_g, rescue_flour_g
from assistant.dough.ranges import between, not_negative, positive
from assistant.errors import DoughError

_NOISE = 1e-9
"""Rounding noise that must not cost a portion or make a batch."""


@dataclass(frozen=True, slots=True)
class Rescue:
    """Flour (g) that brings a dough down, the dough with it (g), and what then is too much for the hopper (g)."""

    flour_g: float
    dough_g: float
    over_hopper_g: float


def rescue(flour_g: float, water_g: float, pct: float, hopper_g: float) -> Rescue:
    """Flour that brings a dough that is too wet down to `pct` hydration, and whether the hopper (g) holds it all."""
    positive("flour", flour_g)
    not_negative("water", water_g)
    positive("target", pct, "%")
    positive("hopper", hopper_g)
    more = rescue_flour_g(flour_g, water_g, pct)
    dough = flour_g + water_g + more
    return Rescue(more, dough, max(0.0, dough - hopper_g))


def dough_g(flour_g: float, hydration_pct: float) -> float:
    """Mass (g) of plain dough."""
    return not_negative("flour", flour_g) * (1.0 + not_negative("hydration", hydration_pct, "%") / 100.0)


def net_dough_g(dough_mass_g: float, loss_pct: float) -> float:
    """Dough (g) that is left after scrap and loss (%)."""
    return not_negative("dough", dough_mass_g) * (1.0 - _loss(loss_pct) / 100.0)


def scrap_pct(dough_mass_g: float, scrap_g: float) -> float:
    """Scrap in percent of the dough; inverse of `net_dough_g` in the loss."""
    positive("dough", dough_mass_g)
    return 100.0 * between("scrap", scrap_g, 0, dough_mass_g, "g") / dough_mass_g


def portions(net_g: float, portion_g: float) -> int:
    """Whole portions (g each, raw) in so much dough: rounded down, for half a portion can't be served."""
    return math.floor(not_negative("dough", net_g) / positive("portion", portion_g) + _NOISE)


def flour_for_portions_g(count: int, portion_g: float, loss_pct: float, hydration_pct: float) -> float:
    """Flour (g) for so many portions (g each, raw) at this hydration and loss (%)."""
    wanted = not_negative("portions", count, "") * positive("portion", portion_g)
    return (
        wanted
        / (1.0 - _loss(loss_pct) / 100.0)
        / (1.0 + not_negative("hydration", hydration_pct, "%") / 100.0)
    )


def batches_for(flour_g: float, batch_flour_g: float) -> int:
    """Batches of so much flour (g) that are needed: rounded up."""
    return math.ceil(not_negative("flour", flour_g) / positive("flour of a batch", batch_flour_g) - _NOISE)


def most_flour_for_hopper_g(hopper_g: float, hydration_pct: float) -> float:
    """Most flour (g) whose dough the hopper (g) holds; round it down before you use it."""
    return most_flour_g(positive("hopper", hopper_g), not_negative("hydration", hydration_pct, "%"))


def cooked_ratio(raw_water_pct: float, cooked_water_pct: float) -> float:
    """Cooked mass per raw mass of pasta, dry matter kept: solids lost to the water are not counted."""
    raw = between("raw water", raw_water_pct, 0, 99, "%")
    return (100.0 - raw) / (100.0 - between("cooked water", cooked_water_pct, 0, 99, "%"))


FRESH_WATER_PCT, COOKED_WATER_PCT = 31.0, 68.56
"""Water of fresh-refrigerated plain pasta as purchased and cooked: USDA SR28, NDB 20093 and 20094."""


def scaled(masses_g: Mapping[str, float], flour: str, wanted_flour_g: float) -> dict[str, float]:
    """All masses of a batch (g), for another mass of its flour (g). Scaling back gives the first again."""
    if flour not in masses_g:
        raise DoughError(
            f"no {flour} among {', '.join(masses_g) or 'nothing'}; name the flour that is scaled by."
        )
    factor = positive("wanted flour", wanted_flour_g) / positive(flour, masses_g[flour])
    return {name: not_negative(name, grams) * factor for name, grams in masses_g.items()}


def _loss(percent: float) -> float:
    return between("loss", percent, 0, 99, "%")
