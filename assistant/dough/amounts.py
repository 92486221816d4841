"""Masses and volumes as they are said, and what they weigh."""

from dataclasses import dataclass
from typing import Literal

Unit = Literal["g", "kg", "lb", "oz", "ml", "l"]

GRAMS_PER: dict[Unit, float] = {"g": 1.0, "kg": 1000.0, "lb": 453.59237, "oz": 28.349523125}
"""Exact by definition of the international pound, 1959 (units of volume need a density: `Amount.grams`)."""
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
