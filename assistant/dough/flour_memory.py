"""What a kitchen knows of its flour: the hydration that a lot's next batch will likely want, and how surely.

Model. The end of a batch (see `evidence`) is normal around its lot's mean, with the kitchen's batch noise;
now and then (3 of 100) with four times that. A lot's mean is normal around the mean of its flour type in its
season, that around the type's, that around the kitchen's target. A lot that was measured moves by its
moisture (mass balance). While it is open, a lot's mean may walk. Verdicts are censored evidence: only bounds
on an end are known.

Fit. For each batch noise of a grid the bounds of a lot are taken in one after the other, each time keeping
the normal with the right two moments; the levels above are then exact sums of normals. Noise, spread of lots
and drift are not guessed: each value of a grid counts by how well it forecast what was seen. Grids and priors
are assumptions of ours, wide enough to be overruled by some twenty batches. The fit is checked against a
statistics library and by simulation.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import exp, log

from assistant.dough.censored import Evidence, Mixture, Noise, log_or_least, seen
from assistant.dough.lots import SEASONS, UNNAMED_FLOUR, Forecast, LotRecord, SeasonLine, Seen, season_of
from assistant.dough.moisture import REFERENCE_MOISTURE_PCT, corrected_hydration_pct
from assistant.errors import DoughError

BATCH_NOISE = (0.12, 0.18, 0.27, 0.40, 0.60, 0.90)
"""Grid of the batch noise (points of hydration, standard deviation)."""
NOISE_PRIOR = (0.06, 0.14, 0.25, 0.28, 0.19, 0.08)
LOT_SPREAD = (0.20, 0.40, 0.70, 1.10)
"""Grid of the spread of lots around their season (points, standard deviation)."""
SPREAD_PRIOR = (0.15, 0.30, 0.35, 0.20)
WALK = (0.0, 0.05, 0.12)
"""Grid of the drift of an open lot (points of hydration per square root of a day)."""
WALK_PRIOR = (0.75, 0.17, 0.08)
TYPE_SD, SEASON_SD = 1.2, 0.35
"""Spread of flour types around the kitchen's target, and of seasons around their type (points)."""
OUTLIER_SHARE, OUTLIER_TIMES = 0.03, 4.0
"""Share of batches that are outliers, and how many times the noise they have."""
_WIDE = 4.0
"""Standard deviation of the belief from which a lot's own evidence is summed up; taken out again after it."""

LONGEST_GAP_DAYS = 120.0
"""No pause between two batches counts for longer: a clock that was not set must not make all evidence old."""
MOST_BATCHES = 40
"""Batches of a lot that count, the newest; older ones say little of a lot that may drift."""
DRIFT_CERTAIN, DRIFT_POINTS, DRIFT_BATCHES = 0.75, 0.3, 8
"""A drift is reported from this probability, this size (points) and this number of batches on."""


class FlourMemory:
    """All lots of a kitchen, learned together."""

    def __init__(self, records: Sequence[LotRecord], target_pct: float = 31.0) -> None:
        self.target_pct = target_pct
        """Hydration that a flour type is expected around: the kitchen's target (%)."""
        self.records = {record.lot: record for record in records}
        self._shifts = {record.lot: _shift(record, target_pct) for record in records}

    @cached_property
    def _own(self) -> dict[str, tuple[Evidence, ...]]:
        """Evidence of each lot about its own mean, moisture taken off, for each batch noise."""
        found = {}
        for lot, record in self.records.items():
            if record.seen:
                about = self.target_pct + self._shifts[lot]
                found[lot] = tuple(
                    _sum_up(record.seen[-MOST_BATCHES:], about, noise(sd)) for sd in BATCH_NOISE
                )
        return found

    @cached_property
    def _tree(self) -> dict[str, dict[str, list[str]]]:
        """Lots by flour type and season."""
        tree: dict[str, dict[str, list[str]]] = {}
        for lot, record in self.records.items():
            if record.seen:
                tree.setdefault(record.flour, {}).setdefault(record.season, []).append(lot)
        return tree

    @cached_property
    def _weights(self) -> dict[tuple[int, int], float]:
        """How much each pair of batch noise and lot spread counts, by their place in the grids."""
        logs = {}
        for i, noise_prior in enumerate(NOISE_PRIOR):
            for j, spread_prior in enumerate(SPREAD_PRIOR):
                level = sum(self._type(flour, i, j).through(TYPE_SD).level for flour in self._tree)
                logs[i, j] = level + log(noise_prior * spread_prior)
        most = max(logs.values())
        whole = sum(exp(value - most) for value in logs.values())
        return {pair: exp(value - most) / whole for pair, value in logs.items()}

    def _season(self, flour: str, season: str, i: int, j: int) -> Evidence:
        """Evidence of a season's lots about their flour type in that season."""
        lots = self._tree.get(flour, {}).get(season, [])
        return sum((self._own[lot][i].through(LOT_SPREAD[j]) for lot in lots), Evidence())

    def _type(self, flour: str, i: int, j: int) -> Evidence:
        """Evidence of all seasons about a flour type."""
        seasons = self._tree.get(flour, {})
        return sum((self._season(flour, season, i, j).through(SEASON_SD) for season in seasons), Evidence())

    def _season_belief(
        self, flour: str, season: str, i: int, j: int, without: Evidence
    ) -> tuple[float, float]:
        """Belief about a type in a season, `without` the evidence of one lot."""
        own = self._season(flour, season, i, j)
        others = self._type(flour, i, j)
        if season in self._tree.get(flour, {}):
            others = others - own.through(SEASON_SD)
        mean, variance = others.belief(0.0, TYPE_SD**2)
        return (own - without).belief(mean, variance + SEASON_SD**2)

    def forecast(self, lot: str, day: float, flour: str | None = None) -> Forecast:
        """The next batch of a lot on a day (days since 1970).

        A lot that is not known is forecast as one of its flour type.
        """
        record = self.records.get(lot) or LotRecord(lot, flour or UNNAMED_FLOUR)
        season = record.season or season_of(day)
        about = self.target_pct + self._shifts.get(lot, 0.0)
        own = record.seen[-MOST_BATCHES:]
        parts, usual, moved, drifting, noise_mean = [], [], 0.0, 0.0, 0.0
        for i, sd in enumerate(BATCH_NOISE):
            weight, mean, variance = self._lot_prior(record, season, i)
            if weight < 0.01:
                continue
            noise_mean += weight * sd
            runs = [_follow(own, about + mean, variance, noise(sd), walk) for walk in WALK]
            for run, walk, prior in zip(runs, WALK, WALK_PRIOR, strict=True):
                counts = weight * prior * exp(run.log_probability - runs[0].log_probability)
                later = run.variance + walk * walk * (_days(own[-1].day, day) if own else 0.0)
                parts += [(counts * share, run.mean, later + spread) for share, spread in noise(sd)]
                usual.append((counts, run.mean, later + sd * sd))
                if walk > 0.0:
                    drifting += counts
                    moved += counts * run.moved
        whole = sum(weight for weight, _, _ in usual)
        drift = moved / drifting if drifting else 0.0
        ends = Mixture(parts)
        return Forecast(
            lot=lot,
            flour=record.flour,
            batches=len(record.seen),
            likely_pct=ends.quantile(0.5),
            low_pct=ends.quantile(0.05),
            high_pct=ends.quantile(0.95),
            safe_pct=ends.quantile(0.05),
            noise_pct=noise_mean,
            drift_points=drift if is_certain(drift, drifting / whole, len(own)) else 0.0,
            climbed=record.climbed,
            ends=ends,
            usual=Mixture(usual),
        )

    def _lot_prior(self, record: LotRecord, season: str, i: int) -> tuple[float, float, float]:
        """Weight of a batch noise, and what the other lots say of this one's mean: its mean and variance.

        The spreads of lots are put together into one normal of the same two moments.
        """
        total = first = second = 0.0
        for j, spread in enumerate(LOT_SPREAD):
            weight = self._weights[i, j]
            own = self._own[record.lot][i].through(spread) if record.lot in self._own else Evidence()
            mean, variance = self._season_belief(record.flour, season, i, j, own)
            total += weight
            first += weight * mean
            second += weight * (variance + spread * spread + mean * mean)
        if total <= 0.0:
            return 0.0, 0.0, 1.0
        mean = first / total
        return total, mean, second / total - mean * mean

    def seasons(self) -> list[SeasonLine]:
        """What each flour type wants in each season that the kitchen saw."""
        lines = []
        for flour, seasons in sorted(self._tree.items()):
            for season, lots in sorted(seasons.items(), key=lambda item: SEASONS.index(item[0])):
                parts = []
                for (i, j), weight in self._weights.items():
                    mean, variance = self._season_belief(flour, season, i, j, Evidence())
                    parts.append((weight, self.target_pct + mean, variance))
                line = Mixture(parts)
                low, high = line.quantile(0.05), line.quantile(0.95)
                lines.append(SeasonLine(flour, season, len(lots), line.mean, low, high))
        return lines

    @property
    def noise_pct(self) -> float:
        """Batch noise as learned from all lots (points)."""
        return sum(weight * BATCH_NOISE[i] for (i, _), weight in self._weights.items())


def noise(sd: float) -> Noise:
    """Batch noise with its outliers."""
    return (1.0 - OUTLIER_SHARE, sd * sd), (OUTLIER_SHARE, (OUTLIER_TIMES * sd) ** 2)


def is_certain(drift_points: float, probability: float, batches: int) -> bool:
    """Whether a drift of this size (points) and probability, seen in a number of batches, is reported."""
    return batches >= DRIFT_BATCHES and probability >= DRIFT_CERTAIN and abs(drift_points) >= DRIFT_POINTS


@dataclass(frozen=True, slots=True)
class _Run:
    """A lot followed through its batches."""

    mean: float
    """Belief about the lot's mean after the last batch (%)."""
    variance: float
    """Variance of that belief (points squared)."""
    moved: float
    """How far the mean went since the first batches (points)."""
    log_probability: float
    """How well all batches were forecast."""


def _follow(own: Sequence[Seen], mean: float, variance: float, spread: Noise, walk: float) -> _Run:
    """Take in batches in order of time; in between the mean walks (points per square root of a day)."""
    chance = 0.0
    early = mean
    day = own[0].day if own else 0.0
    settled = min(4, len(own) // 2)
    for count, batch in enumerate(own):
        variance += walk * walk * _days(day, batch.day)
        day = batch.day
        probability, mean, variance = seen(mean, variance, batch.bounds.low, batch.bounds.high, spread)
        chance += log_or_least(probability)
        if count + 1 == settled:
            early = mean
    return _Run(mean, variance, mean - early, chance)


def _days(earlier: float, later: float) -> float:
    """Days between two batches that count."""
    return min(LONGEST_GAP_DAYS, max(0.0, later - earlier))


def _sum_up(own: Sequence[Seen], about: float, spread: Noise) -> Evidence:
    """Evidence of batches about their lot's mean, as deviation from `about`, whatever was believed before."""
    run = _follow(own, about, _WIDE**2, spread, 0.0)
    weight = max(1e-9, 1.0 / run.variance - 1.0 / _WIDE**2)
    pull = (run.mean - about) / run.variance
    wider = 1.0 + weight * _WIDE**2
    level = run.log_probability + 0.5 * log(wider) - 0.5 * pull * pull * _WIDE**2 / wider
    return Evidence(level, pull, weight)


def _shift(record: LotRecord, target_pct: float) -> float:
    """Points of hydration by which a lot's measured moisture moves it; 0 where it was not measured."""
    if record.moisture_pct is None:
        return 0.0
    try:
        return corrected_hydration_pct(target_pct, REFERENCE_MOISTURE_PCT, record.moisture_pct) - target_pct
    except DoughError:
        return 0.0
