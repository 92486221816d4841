"""What the air of the store says of a lot: how damp it was before the lot was opened, against the usual.

Flour that lies in damp air takes up water and then wants less. The isotherm (`flour.store_air`) says by how
much at most; how much of that the kitchen's sacks take up is learned from its lots, from a weak prior. Only
differences from the kitchen's own usual air count, both by the humidities that its cooks told: a kitchen that
is always damp shifts no lot, for its suppliers' flour is known as it comes out of that kitchen.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean

from assistant.dough.flour.store_air import USUAL_STORE_C, equilibrium_pct
from assistant.dough.lots import Seen
from assistant.dough.ranges import AIR_HUMIDITY_PCT

SHARE, SHARE_SD = 0.15, 0.15
"""Share of the isotherm's way that a sack goes before it is opened: mean and spread (assumption of ours)."""
STORE_DAYS = 28.0
"""What was told in so many days before a lot was opened is the air that it lay in."""
LEAST_TOLD = 3
"""Batches with a humidity from which on there is a usual one, and the air of a store."""
LOT_VARIANCE = 0.5
"""Variance of lots around their flour type (points squared), beside what the air does."""


@dataclass(frozen=True, slots=True)
class StoreAir:
    """The air of a kitchen, as it was told."""

    told: tuple[tuple[float, float], ...] = ()
    """(day, relative humidity in %) of each batch for which it was told."""

    @classmethod
    def of(cls, seen: Iterable[Seen]) -> "StoreAir":
        """As these batches tell it; those of other stations of the group have an air of their own."""
        own = [one for one in seen if one.station is None]
        return cls(tuple((one.day, one.humidity_pct) for one in own if one.humidity_pct is not None))

    @property
    def usual_pct(self) -> float | None:
        """Humidity (%) that is usual there; None where too little was told."""
        return fmean(pct for _, pct in self.told) if len(self.told) >= LEAST_TOLD else None

    def swing_points(self, opened: float, target_pct: float, now_pct: float | None = None) -> float:
        """Points of hydration by which flour that lay in this air wants more than in the usual, at most.

        `opened`: day of its first batch; `now_pct`: humidity that was told of it (%). 0 where too little was
        told.
        """
        usual = self.usual_pct
        before = [pct for day, pct in self.told if opened - STORE_DAYS <= day <= opened]
        before += [] if now_pct is None else [now_pct]
        if usual is None or len(before) < LEAST_TOLD:
            return 0.0
        here, there = _moisture(fmean(before)), _moisture(usual)
        # Mass balance, as in `moisture.corrected_hydration_pct`.
        return (there - here) * (100.0 + target_pct) / (100.0 - there)


def _moisture(humidity_pct: float) -> float:
    """Moisture (%, wet basis) by the isotherm; of air beyond its range, that at the edge."""
    least, most = AIR_HUMIDITY_PCT.bounds
    return equilibrium_pct(min(most, max(least, humidity_pct)), USUAL_STORE_C)


@dataclass(frozen=True, slots=True)
class LotInAir:
    """What the batches of one lot say of it, and the air it lay in."""

    group: object
    """Its flour type and supplier."""
    points: float
    """How far it is from what it was expected at (points of hydration)."""
    variance: float
    """Variance of that."""
    swing_points: float
    """How far it would be if it had followed the air wholly."""


def learned_share(lots: Sequence[LotInAir]) -> float:
    """Share (0 to 1) of the isotherm's way that flour goes in this kitchen's store.

    Least squares within each flour type of a supplier, with the prior.
    """
    top, weight = SHARE / SHARE_SD**2, SHARE_SD**-2
    for group in {one.group for one in lots}:
        own = [(1.0 / (one.variance + LOT_VARIANCE), one) for one in lots if one.group == group]
        whole = sum(counts for counts, _ in own)
        points = sum(counts * one.points for counts, one in own) / whole
        swing = sum(counts * one.swing_points for counts, one in own) / whole
        for counts, one in own:
            top += counts * (one.swing_points - swing) * (one.points - points)
            weight += counts * (one.swing_points - swing) ** 2
    return min(1.0, max(0.0, top / weight))
