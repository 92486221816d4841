"""Drying by weight: fresh pasta of a known moisture loses nothing but water. Masses in g.

Moisture is in % of the mass (wet basis). Weight tells how dry pasta is, not whether it is safe: how fast it
dried, and how evenly, it does not tell.
"""

from assistant.dough.ranges import DRYING_PCT, INGREDIENT_G, recorded_above_zero
from assistant.errors import DoughError

DRY_PCT = 12.5
"""Most moisture of dried pasta in Italy (%): DPR 187/2001 art. 6 c. 3."""
DRY_US_PCT = 13.0
"""The same in the United States: at least 87 % of solids, 21 CFR 139.110(a)."""


def dried_g(mass_g: float, moisture_pct: float, wanted_pct: float = DRY_PCT) -> float:
    """Mass (g) at which pasta of this mass (g) and moisture (%) has dried to the wanted moisture (%).

    Fixed-moisture-basis conversion: PM-1625, Iowa State University Extension. Raises DoughError where it is
    that dry already.
    """
    INGREDIENT_G.check(recorded_above_zero("pasta", mass_g), "pasta")
    now = DRYING_PCT.check(moisture_pct)
    wanted = DRYING_PCT.check(wanted_pct, "wanted moisture")
    if wanted >= now:
        raise DoughError(
            f"pasta of {now:g} % moisture can't dry to {wanted:g} %: it is that dry; give a lower moisture, "
            "or measure again."
        )
    return mass_g * (100.0 - now) / (100.0 - wanted)
