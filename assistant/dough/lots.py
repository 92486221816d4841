"""What a kitchen knows of its flour: the hydration that the next batch of a lot will likely want, and how sure that is.

Model. The end of a batch (see `evidence`) is normal around its lot's mean, with the kitchen's batch noise; now and
then (3 of 100) with four times that. A lot's mean is normal around the mean of its flour type in its season, that
around the type's, that around the house target. A lot that was measured moves by its moisture (mass balance). While
it is open, a lot's mean may walk. Verdicts are censored evidence: only bounds on an end are known.

Fit. For each batch noise of a grid the bounds of a lot are taken in one after the other, each time keeping the normal
with the right two moments; the levels above are then exact sums of normals. Noise, spread of lots and drift are not
guessed: each of a grid counts by how well it foretold what was seen. Grids and priors are assumptions of ours, wide
enough to be overruled by some twenty batches. The fit is checked against a statistics library and by simulation.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import exp, log, sqrt

from assistant.dough.censored import Mixture, Noise, log_or_least, seen
from assistant.dough.evidence import Bounds
from assistant.dough.moisture import REFERENCE_MOISTURE_PCT, corrected_hydration_pct
from assistant.errors import DoughError

BATCH_NOISE = (0.12, 0.18, 0.27, 0.40, 0.60, 0.90)
NOISE_PRIOR = (0.06, 0.14, 0.25, 0.28, 0.19, 0.08)
LOT_SPREAD = (0.20, 0.40, 0.70, 1.10)
SPREAD_PRIOR = (0.15, 0.30, 0.35, 0.20)
WALK = (0.0, 0.05, 0.12)
"""Points of hydration per square root of a day."""
WALK_PRIOR = (0.75, 0.17, 0.08)
TYPE_SD, SEASON_SD = 1.2, 0.35
OUTLIER_SHARE, OUTLIER_TIMES = 0.03, 4.0
_WIDE = 4.0
"""Standard deviation of the belief from which a lot's own evidence is summed up; taken out again afterwards."""

LONGEST_GAP_DAYS = 120.0
"""No pause between two batches counts for longer: a clock that was not set must not make all that is known old."""
MOST_BATCHES = 40
"""Batches of a lot that count, the newest; older ones tell little of a lot that may drift."""
DRIFT_CERTAIN, DRIFT_POINTS, DRIFT_BATCHES = 0.75, 0.3, 8
"""A drift is spoken of when it is so probable, so large (points), and seen in so many batches."""
FAR_PROBABILITY, FAR_BATCHES = 0.01, 3
"""A batch is far from its lot when its end was foretold with less than this, in a lot of at least so many batches."""

UNNAMED_FLOUR = "flour"


@dataclass(frozen=True, slots=True)
class Seen:
    """A batch's evidence: the day it was closed (days since 1970), bounds on its end, its number."""

    day: float
    bounds: Bounds
    batch: int = 0


@dataclass(frozen=True, slots=True)
class LotRecord:
    """A lot: its flour type, its measured moisture (%) or None, and what its batches told, oldest first."""

    lot: str
    flour: str = UNNAMED_FLOUR
    moisture_pct: float | None = None
    seen: tuple[Seen, ...] = ()

    @property
    def season(self) -> str:
        """Quarter of the year in which it was first used, by its months: no hemisphere is assumed."""
        return season_of(self.seen[0].day) if self.seen else ""


@dataclass(frozen=True, slots=True)
class Forecast:
    """The end of the next batch of a lot (% hydration): likely, 90 % interval, and what stays below it with 95 %.

    `batches`: how many of the lot it rests on; 0: nothing is known of this lot. `drift_points`: how far its mean
    walked, 0 where no drift is certain. `noise_pct`: the batch noise as learned.
    """

    lot: str
    flour: str
    batches: int
    likely_pct: float
    low_pct: float
    high_pct: float
    safe_pct: float
    noise_pct: float
    drift_points: float
    ends: Mixture
    usual: Mixture

    @property
    def known(self) -> bool:
        """Whether any batch of this lot tells of it."""
        return self.batches > 0

    def first_pour_g(self, flour_g: float) -> float:
        """Water (g, not rounded) that stays below the end with 95 %."""
        return max(0.0, flour_g * self.safe_pct / 100.0)

    def is_far(self, bounds: Bounds) -> bool:
        """Whether a batch with these bounds on its end is far from what its lot foretold."""
        if self.batches < FAR_BATCHES:
            return False
        return min(self.usual.below(bounds.high), 1.0 - self.usual.below(bounds.low)) < FAR_PROBABILITY


@dataclass(frozen=True, slots=True)
class SeasonLine:
    """What a flour type wants in a season (% hydration): mean and 90 % interval; lots that it rests on."""

    flour: str
    season: str
    lots: int
    mean_pct: float
    low_pct: float
    high_pct: float


@dataclass(frozen=True, slots=True)
class _Gauss:
    """exp(level + pull x - weight x^2 / 2): evidence about x as deviation from the house target (points)."""

    level: float = 0.0
    pull: float = 0.0
    weight: float = 0.0

    def __add__(self, other: "_Gauss") -> "_Gauss":
        return _Gauss(self.level + other.level, self.pull + other.pull, self.weight + other.weight)

    def __sub__(self, other: "_Gauss") -> "_Gauss":
        return _Gauss(self.level - other.level, self.pull - other.pull, self.weight - other.weight)

    def through(self, sd: float) -> "_Gauss":
        """Evidence about the mean that x is normally spread around with this standard deviation."""
        wider = 1.0 + self.weight * sd * sd
        level = self.level - 0.5 * log(wider) + 0.5 * self.pull * self.pull * sd * sd / wider
        return _Gauss(level, self.pull / wider, self.weight / wider)

    def belief(self, mean: float, variance: float) -> tuple[float, float]:
        """Mean and variance after this evidence, from a normal belief before it."""
        weight = 1.0 / variance + self.weight
        return (mean / variance + self.pull) / weight, 1.0 / weight


class FlourMemory:
    """All lots of a kitchen, learned together. `house_pct`: the target that a type is expected around."""

    def __init__(self, records: Sequence[LotRecord], house_pct: float = 31.0) -> None:
        self.house_pct = house_pct
        self.records = {record.lot: record for record in records}
        self._shifts = {record.lot: _shift(record, house_pct) for record in records}

    @cached_property
    def _own(self) -> dict[str, tuple[_Gauss, ...]]:
        """Evidence of each lot about its own mean, moisture taken off, for each batch noise."""
        found = {}
        for lot, record in self.records.items():
            if record.seen:
                about = self.house_pct + self._shifts[lot]
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

    def _season(self, flour: str, season: str, i: int, j: int) -> _Gauss:
        """Evidence of a season's lots about their flour type in that season."""
        lots = self._tree.get(flour, {}).get(season, [])
        return sum((self._own[lot][i].through(LOT_SPREAD[j]) for lot in lots), _Gauss())

    def _type(self, flour: str, i: int, j: int) -> _Gauss:
        """Evidence of all seasons about a flour type."""
        seasons = self._tree.get(flour, {})
        return sum((self._season(flour, season, i, j).through(SEASON_SD) for season in seasons), _Gauss())

    def _season_belief(self, flour: str, season: str, i: int, j: int, without: _Gauss) -> tuple[float, float]:
        """Belief about a type in a season, `without` the evidence of one lot."""
        own = self._season(flour, season, i, j)
        others = self._type(flour, i, j)
        if season in self._tree.get(flour, {}):
            others = others - own.through(SEASON_SD)
        mean, variance = others.belief(0.0, TYPE_SD**2)
        return (own - without).belief(mean, variance + SEASON_SD**2)

    def forecast(self, lot: str, day: float, flour: str | None = None) -> Forecast:
        """The next batch of a lot on a day (days since 1970); of a lot that is not known, as its flour type tells."""
        record = self.records.get(lot) or LotRecord(lot, flour or UNNAMED_FLOUR)
        season = record.season or season_of(day)
        about = self.house_pct + self._shifts.get(lot, 0.0)
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
        certain = (
            len(own) >= DRIFT_BATCHES and drifting / whole >= DRIFT_CERTAIN and abs(drift) >= DRIFT_POINTS
        )
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
            drift_points=drift if certain else 0.0,
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
            own = self._own[record.lot][i].through(spread) if record.lot in self._own else _Gauss()
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
            for season, lots in sorted(seasons.items(), key=lambda item: _SEASONS.index(item[0])):
                parts = []
                for (i, j), weight in self._weights.items():
                    mean, variance = self._season_belief(flour, season, i, j, _Gauss())
                    parts.append((weight, self.house_pct + mean, variance))
                line = Mixture(parts)
                lines.append(
                    SeasonLine(flour, season, len(lots), line.mean, line.quantile(0.05), line.quantile(0.95))
                )
        return lines

    @property
    def noise_pct(self) -> float:
        """Batch noise as learned from all lots (points)."""
        return sum(weight * BATCH_NOISE[i] for (i, _), weight in self._weights.items())


def noise(sd: float) -> Noise:
    """Batch noise with its outliers."""
    return (1.0 - OUTLIER_SHARE, sd * sd), (OUTLIER_SHARE, (OUTLIER_TIMES * sd) ** 2)


@dataclass(frozen=True, slots=True)
class _Run:
    """A lot followed through its batches: belief about its mean now, how far it went, how well all was foretold."""

    mean: float
    variance: float
    moved: float
    log_probability: float


def _follow(own: Sequence[Seen], mean: float, variance: float, spread: Noise, walk: float) -> _Run:
    """Take in batches in order of time, a mean that walks by `walk` (points per square root of a day) between."""
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


def _sum_up(own: Sequence[Seen], about: float, spread: Noise) -> _Gauss:
    """Evidence of batches about their lot's mean, as a deviation from `about`, whatever is believed of it before."""
    run = _follow(own, about, _WIDE**2, spread, 0.0)
    weight = max(1e-9, 1.0 / run.variance - 1.0 / _WIDE**2)
    pull = (run.mean - about) / run.variance
    wider = 1.0 + weight * _WIDE**2
    level = run.log_probability + 0.5 * log(wider) - 0.5 * pull * pull * _WIDE**2 / wider
    return _Gauss(level, pull, weight)


def _shift(record: LotRecord, house_pct: float) -> float:
    """Points of hydration by which a lot's measured moisture moves it; 0 where it was not measured."""
    if record.moisture_pct is None:
        return 0.0
    try:
        return corrected_hydration_pct(house_pct, REFERENCE_MOISTURE_PCT, record.moisture_pct) - house_pct
    except DoughError:
        return 0.0


_SEASONS = ("Dec-Feb", "Mar-May", "Jun-Aug", "Sep-Nov", "")


def season_of(day: float) -> str:
    """Quarter of the year of a day (days since 1970), by its months."""
    month = (date(1970, 1, 1) + timedelta(days=int(day))).month
    return _SEASONS[month % 12 // 3]


def by_lot(records: Mapping[str, LotRecord]) -> list[LotRecord]:
    """Records with the lot last used first."""
    return sorted(
        records.values(), key=lambda record: record.seen[-1].day if record.seen else 0.0, reverse=True
    )


def standard_error(values: Sequence[float]) -> float:
    """Standard error of a share of hits, for tables of simulations."""
    share = sum(values) / len(values)
    return sqrt(share * (1.0 - share) / len(values))
