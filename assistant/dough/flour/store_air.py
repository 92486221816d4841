"""Moisture of flour by the air of its store: the isotherm of durum wheat. Percent, degrees Celsius.

Modified Chung and Pfost equation as in ASAE D245.5 (moisture relationships of plant-based agricultural
products), for durum wheat: M = E - F ln(-(T + C) ln RH), M in kg of water per kg of dry matter. The title
page of the standard was read, its table was not: the constants are from memory. They agree with its other
form of the equation (A 922.65, B 18.077, from memory too), for E = ln A / B and F = 1 / B.

Semolina is durum wheat without its bran, and the wheat stands for it. Hebrard et al. 2003, Powder Technology
130:211, have an isotherm of semolina itself (GAB; abstract read, constants not).

It says where flour ends that lies open for weeks. A sack keeps what it was delivered with for long: this is a
weak prior for a lot, and no measurement.
"""

import math
from dataclasses import dataclass

from assistant.dough.moisture import corrected_hydration_pct
from assistant.dough.ranges import AIR_HUMIDITY_PCT, STORE_C

_E, _F, _C = 0.37761, 0.055318, 112.350
AUTHORITY = (
    "Isotherm of durum wheat, which stands for semolina: Chung and Pfost as in ASAE D245.5, its constants "
    "from memory"
)
USUAL_STORE_C = 20.0
DELIVERED_PCT = 14.0
"""Moisture of semolina as it is delivered (%): the reference basis of ICC Standard 115/1."""
_DELIVERED_SD, _STORE_SD = 0.7, 1.0
"""How far lots are from that, and flour in a store from its isotherm (points). Lots: SR28 has 12.67 %, the
law 14.5 and 15 % at most; the store: an assumption of ours, for sacks follow the air slowly."""


def equilibrium_pct(humidity_pct: float, celsius: float = USUAL_STORE_C) -> float:
    """Moisture (%, wet basis) of flour that has taken up what the air of its store holds."""
    humidity = AIR_HUMIDITY_PCT.check(humidity_pct) / 100.0
    dry = _E - _F * math.log(-(STORE_C.check(celsius) + _C) * math.log(humidity))
    return 100.0 * dry / (1.0 + dry)


@dataclass(frozen=True, slots=True)
class MoisturePrior:
    """What the air of the store says of a lot whose moisture nobody measured."""

    moisture_pct: float
    """Likely moisture (%, wet basis)."""
    sd_points: float
    """Its standard deviation (points of moisture)."""

    def hydration_pct(self, at_reference_pct: float) -> float:
        """Hydration (%) that is likely on this flour, where flour of `DELIVERED_PCT` takes that (%)."""
        return corrected_hydration_pct(at_reference_pct, DELIVERED_PCT, self.moisture_pct)

    def sd_of_hydration(self, at_reference_pct: float) -> float:
        """Standard deviation (points of hydration) of that."""
        drier = MoisturePrior(self.moisture_pct - self.sd_points, 0.0).hydration_pct(at_reference_pct)
        return drier - self.hydration_pct(at_reference_pct)


def moisture_prior(humidity_pct: float, celsius: float = USUAL_STORE_C) -> MoisturePrior:
    """A weak prior for a lot: between what is delivered and where the store's air would bring it.

    Both are weighed by how far they may be off.
    """
    delivered, store = _DELIVERED_SD**-2, _STORE_SD**-2
    mean = (delivered * DELIVERED_PCT + store * equilibrium_pct(humidity_pct, celsius)) / (delivered + store)
    return MoisturePrior(mean, (delivered + store) ** -0.5)
