"""What moves a batch beside its flour: how late each cook judges, and the humidity of the air.

A linear model of what the batches of the same lot differ by: (lot) + (cook) + slope x (humidity - usual) +
noise. Usual is what is usual in this kitchen by what was told; a batch without a told humidity is one of
usual air. Each batch counts by how narrowly its verdicts bound it. Cooks are held against each other alone:
where one cook judges all, or nobody says who, there is nothing to hold them against, and the end of a batch
is where that kitchen calls it. The prior is weak and has long tails (Student's t, found by reweighting:
Lange, Little and Taylor, JASA 84:881, 1989, from memory), so that a cook who is far from the others does not
pull them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import fmean

from assistant.dough.censored import Noise, seen
from assistant.dough.lots import Seen

BIAS_SD, BIAS_FREEDOM = 0.15, 2.0
"""Scale (points of hydration) and degrees of freedom of what cooks differ by (assumption of ours)."""
SLOPE_SD = 0.15
"""Spread of what ten points of humidity move a batch by (points of hydration; assumption of ours)."""
_NOBODY_TOLD_PCT = 60.0
"""Stands for the usual humidity where none was told; nothing follows from it then."""
_LEAST_COOK = 3
"""Batches of a cook from which on they are held against the others."""
_ROUNDS = 6


@dataclass(frozen=True, slots=True)
class Biases:
    """What was learned of cooks and air (points of hydration)."""

    cooks: Mapping[str | None, float] = field(default_factory=dict)
    """How late each judges; early: negative."""
    slope: float = 0.0
    """What ten points of relative humidity more move a batch by."""
    usual_pct: float = _NOBODY_TOLD_PCT
    """Relative humidity that is usual in the kitchen (%)."""

    def of(self, cook: str | None, humidity_pct: float | None) -> float:
        """By how much a batch is felt to end higher than its lot (points)."""
        return self.cooks.get(cook, 0.0) + self.of_air(humidity_pct)

    def of_air(self, humidity_pct: float | None) -> float:
        """By how much the air moves a batch (points); 0 where nobody told of it."""
        return 0.0 if humidity_pct is None else self.slope * (humidity_pct - self.usual_pct) / 10.0


@dataclass(slots=True)
class _Site:
    """What one batch says of its lot's mean as it was felt."""

    lot: int
    value: float
    weight: float
    cook: int
    air: float


def learn_biases(lots: Iterable[tuple[Sequence[Seen], float]], variance: float, noise: Noise) -> Biases:
    """How late each cook judges and what the air does, by the batches of these lots.

    Each lot with its expected mean (%); `variance` is that of the lots around it, `noise` of batches around
    their lot.
    """
    used = [(own, about) for own, about in lots if own]
    counts: dict[str | None, int] = {}
    for own, _ in used:
        for batch in own:
            counts[batch.cook] = counts.get(batch.cook, 0) + 1
    cooks = [cook for cook, count in counts.items() if cook is not None and count >= _LEAST_COOK]
    if len(cooks) < 2:
        cooks = []
    told = [batch.humidity_pct for own, _ in used for batch in own if batch.humidity_pct is not None]
    if not cooks and not told:
        return Biases()
    usual = fmean(told) if told else _NOBODY_TOLD_PCT
    sites = list(_sites(used, cooks, usual, variance, noise))
    found = _solve(sites, len(used), len(cooks))
    return Biases(dict(zip(cooks, found, strict=False)), found[-1] if told else 0.0, usual)


def _sites(
    used: Sequence[tuple[Sequence[Seen], float]],
    cooks: Sequence[str | None],
    usual_pct: float,
    variance: float,
    noise: Noise,
) -> Iterable[_Site]:
    """What each batch by itself adds to the belief about its lot."""
    places = {cook: place for place, cook in enumerate(cooks)}
    for number, (own, about) in enumerate(used):
        mean, left = about, variance
        for batch in own:
            _, after, narrowed = seen(mean, left, batch.bounds.low, batch.bounds.high, noise)
            weight = 1.0 / narrowed - 1.0 / left
            if weight > 1e-3:
                value = (after / narrowed - mean / left) / weight
                air = 0.0 if batch.humidity_pct is None else (batch.humidity_pct - usual_pct) / 10.0
                yield _Site(number, value, weight, places.get(batch.cook, -1), air)
            # A lot that moves must not make a cook late.
            mean, left = after, narrowed + 0.02


def _solve(sites: Sequence[_Site], lots: int, cooks: int) -> list[float]:
    """Biases of the cooks and the slope, by least squares with their priors, the lots' means taken out."""
    size = cooks + 1
    matrix = [[0.0] * size for _ in range(size)]
    right = [0.0] * size
    whole, mean, row_sum = [1e-9] * lots, [0.0] * lots, [[0.0] * size for _ in range(lots)]
    for one in sites:
        whole[one.lot] += one.weight
        mean[one.lot] += one.weight * one.value
        if one.cook >= 0:
            row_sum[one.lot][one.cook] += one.weight
        row_sum[one.lot][-1] += one.weight * one.air
    for one in sites:
        parts = [(one.cook, 1.0)] if one.cook >= 0 else []
        parts += [(cooks, one.air)] if one.air else []
        for row, factor in parts:
            right[row] += one.weight * factor * (one.value - mean[one.lot] / whole[one.lot])
            for column, other in parts:
                matrix[row][column] += one.weight * factor * other
            for column in range(size):
                matrix[row][column] -= one.weight * factor * row_sum[one.lot][column] / whole[one.lot]
    found = [0.0] * size
    for _ in range(_ROUNDS if cooks else 1):
        priors = [
            (BIAS_FREEDOM + 1.0) / (BIAS_FREEDOM * BIAS_SD**2 + found[cook] ** 2) for cook in range(cooks)
        ]
        priors.append(1.0 / SLOPE_SD**2)
        found = _linear(
            [
                [cell + (priors[row] if row == column else 0.0) for column, cell in enumerate(line)]
                for row, line in enumerate(matrix)
            ],
            right,
        )
    return found


def _linear(matrix: list[list[float]], right: Sequence[float]) -> list[float]:
    """Solution of a small symmetric positive definite system, by elimination."""
    rows = [[*line, value] for line, value in zip(matrix, right, strict=True)]
    for place, pivot in enumerate(rows):
        for other in rows[place + 1 :]:
            factor = other[place] / pivot[place]
            for column in range(place, len(pivot)):
                other[column] -= factor * pivot[column]
    found = [0.0] * len(rows)
    for place in range(len(rows) - 1, -1, -1):
        known = sum(rows[place][column] * found[column] for column in range(place + 1, len(rows)))
        found[place] = (rows[place][-1] - known) / rows[place][place]
    return found
