"""What a kitchen knows of its flour: the hydration that a lot's next batch will likely want, and how surely.

Model. The end of a batch (see `evidence`) is normal around its lot's mean, with the kitchen's batch noise;
now and then (3 of 100) with four times that. A lot's mean is normal around the mean of its flour type as its
supplier delivers it in its season, that around the supplier's, that around the type's, that around the target
of the recipe, or the kitchen's. A lot that was measured moves by its moisture (mass balance); one that was
not, by the air it lay in, as far as flour follows the air in this kitchen (`flour.lot_air`). While it is
open, a lot's mean may walk, and may move at once (`flour.lot_change`). How wide ready is
(`flour.ready_width`), how late each cook judges and what the air does (`flour.verdict_bias`) is taken from
all batches first. Verdicts are censored evidence: only bounds on an end are known.

Fit. For each batch noise of a grid the bounds of a lot are taken in one after the other, each time keeping
the normal with the right two moments; the levels above are then exact sums of normals. Noise, spread of lots
and walk are not guessed: each value of a grid counts by how well it forecast what was seen. Grids and priors
are assumptions of ours, wide enough to be overruled by some twenty batches. The fit is checked against a
statistics library and by simulation.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from math import exp, log, sqrt

from assistant.dough.censored import Evidence, Mixture
from assistant.dough.evidence import Bounds, bounds
from assistant.dough.flour.lot_air import LotInAir, StoreAir, learned_share
from assistant.dough.flour.lot_change import Change, Moves, moves_of
from assistant.dough.flour.lot_history import days_between, follow, noise, sum_up
from assistant.dough.flour.ready_width import ready_width
from assistant.dough.flour.verdict_bias import Biases, learn_biases
from assistant.dough.lots import SEASONS, Forecast, LotRecord, SeasonLine, Seen, season_of
from assistant.dough.moisture import REFERENCE_MOISTURE_PCT, corrected_hydration_pct
from assistant.errors import DoughError

BATCH_NOISE = (0.12, 0.18, 0.27, 0.40, 0.60, 0.90)
"""Grid of the batch noise (points of hydration, standard deviation)."""
NOISE_PRIOR = (0.06, 0.14, 0.25, 0.28, 0.19, 0.08)
USUAL_NOISE = 0.35
"""Batch noise before any is learned (points)."""
LOT_SPREAD = (0.20, 0.40, 0.70, 1.10)
"""Grid of the spread of lots around their season (points, standard deviation)."""
SPREAD_PRIOR = (0.15, 0.30, 0.35, 0.20)
WALK = (0.0, 0.05, 0.12)
"""Grid of the walk of an open lot (points of hydration per square root of a day)."""
WALK_PRIOR = (0.75, 0.17, 0.08)
TYPE_SD, SUPPLIER_SD, SEASON_SD = 1.2, 0.5, 0.35
"""Spread of flour types around their target, of suppliers around these, of seasons around those (points)."""
SAFE_SHARE = 0.05
"""Share of batches whose first pour may be past their end."""
WORTH_A_DOUBT = 0.1
"""Probability that a lot is moving, from which on its forecast widens: that any lot may is in the walk."""
_UNKNOWN = 1.0
"""Variance of a lot around what it is expected at, before the other lots are looked at (points squared)."""

MOST_BATCHES = 40
"""Batches of a lot that count, the newest; older ones say little of a lot that may drift."""


class FlourMemory:
    """All lots of a kitchen, learned together."""

    def __init__(self, records: Sequence[LotRecord], target_pct: float = 31.0) -> None:
        self.target_pct = target_pct
        """Hydration (%) that a flour type is expected around where no recipe says: the kitchen's target."""
        self.records = {record.lot: record for record in records}
        self._levels: dict[tuple[str, str | None, str | None, int, int], Evidence] = {}

    def _target(self, record: LotRecord) -> float:
        """Hydration (%) that a flour is expected around before anything is known of the lot."""
        return self.target_pct if record.expected_pct is None else record.expected_pct

    def _measured(self, record: LotRecord) -> float:
        """The same of a lot, its measured moisture counted."""
        target = self._target(record)
        return target + _shift(record, target)

    def _expected(self, record: LotRecord) -> float:
        """Hydration (%) that a lot is expected around: by its moisture, or by the air it lay in."""
        return self._measured(record) + self.store_share * self._swing(record)

    def _swing(self, record: LotRecord, now: tuple[float, float | None] | None = None) -> float:
        """How far a lot would be from usual had it followed its store's air wholly (points).

        `now`: day and told humidity (%) of the batch that opens it, where no batch of it is known.
        """
        if record.moisture_pct is not None or not (record.seen or now):
            return 0.0
        day, pct = (record.seen[0].day, None) if record.seen else now or (0.0, None)
        return self._store.swing_points(day, self._target(record), pct)

    @cached_property
    def _store(self) -> StoreAir:
        """The air of the kitchen, by all batches."""
        return StoreAir.of(one for record in self.records.values() for one in record.seen)

    @cached_property
    def store_share(self) -> float:
        """How much of the way to the moisture of its store's air flour goes here (0 to 1), as learned."""
        if self._store.usual_pct is None:
            return 0.0
        found = []
        for lot, own in self._seen.items():
            record = self.records[lot]
            if own and record.moisture_pct is None:
                said = sum_up(own, self._measured(record), noise(USUAL_NOISE))
                points, variance = said.pull / said.weight, 1.0 / said.weight
                found.append(LotInAir((record.flour, record.supplier), points, variance, self._swing(record)))
        return learned_share(found)

    @cached_property
    def window_pct(self) -> float:
        """How far beyond its end a crumb is ready, as learned from all batches (points)."""
        return ready_width(self._newest, _UNKNOWN, noise(USUAL_NOISE))

    @cached_property
    def _newest(self) -> list[tuple[Sequence[Seen], float]]:
        """The batches of each lot that count, and what it is expected around."""
        return [(one.seen[-MOST_BATCHES:], self._measured(one)) for one in self.records.values() if one.seen]

    @cached_property
    def biases(self) -> Biases:
        """How late each cook judges, and what the air does."""
        return learn_biases(self._newest, _UNKNOWN, noise(USUAL_NOISE))

    @cached_property
    def _seen(self) -> dict[str, list[Seen]]:
        """Batches of each lot that say something, with what cook, air and the width of ready do taken off."""
        return {
            lot: [one for one in map(self._unbiased, record.seen[-MOST_BATCHES:]) if one is not None]
            for lot, record in self.records.items()
        }

    def _unbiased(self, one: Seen) -> Seen | None:
        found = bounds(one.squeezes, self.window_pct) if one.squeezes else one.bounds
        if found is None:
            return None
        off = self.biases.of(one.cook, one.humidity_pct)
        return replace(one, bounds=Bounds(found.low - off, found.high - off))

    @cached_property
    def _delivered(self) -> dict[str, list[Seen]]:
        """Batches of each lot from before it moved while it was open, as is heard with the usual noise."""
        found = {}
        for lot, own in self._seen.items():
            about = self._expected(self.records[lot])
            changed = moves_of(own, about, _UNKNOWN, noise(USUAL_NOISE)).certain
            found[lot] = own[: changed[0].since] if changed else own
        return found

    @cached_property
    def _own(self) -> dict[str, tuple[Evidence, ...]]:
        """Evidence of each lot about its own mean as it was delivered, for each batch noise."""
        found = {}
        for lot, own in self._delivered.items():
            if own:
                about = self._expected(self.records[lot])
                found[lot] = tuple(sum_up(own, about, noise(sd)) for sd in BATCH_NOISE)
        return found

    @cached_property
    def _tree(self) -> dict[str, dict[str, dict[str, list[str]]]]:
        """Lots by flour type, supplier and season."""
        tree: dict[str, dict[str, dict[str, list[str]]]] = {}
        for lot in self._own:
            one = self.records[lot]
            tree.setdefault(one.flour, {}).setdefault(one.supplier, {}).setdefault(one.season, []).append(lot)
        return tree

    @cached_property
    def _weights(self) -> dict[tuple[int, int], float]:
        """How much each pair of batch noise and lot spread counts, by their place in the grids."""
        logs = {}
        for i, noise_prior in enumerate(NOISE_PRIOR):
            for j, spread_prior in enumerate(SPREAD_PRIOR):
                level = sum(
                    self._level(flour, None, None, i, j).through(TYPE_SD).level for flour in self._tree
                )
                logs[i, j] = level + log(noise_prior * spread_prior)
        most = max(logs.values())
        whole = sum(exp(value - most) for value in logs.values())
        return {pair: exp(value - most) / whole for pair, value in logs.items()}

    def _level(self, flour: str, supplier: str | None, season: str | None, i: int, j: int) -> Evidence:
        """Evidence about a flour type; about it from one supplier; about that in one season."""
        key = (flour, supplier, season, i, j)
        if key not in self._levels:
            suppliers = self._tree.get(flour, {})
            if supplier is None:
                parts = [self._level(flour, one, None, i, j).through(_supplier_sd(one)) for one in suppliers]
            elif season is None:
                parts = [
                    self._level(flour, supplier, one, i, j).through(SEASON_SD)
                    for one in suppliers.get(supplier, {})
                ]
            else:
                lots = suppliers.get(supplier, {}).get(season, [])
                parts = [self._own[lot][i].through(LOT_SPREAD[j]) for lot in lots]
            self._levels[key] = sum(parts, Evidence())
        return self._levels[key]

    def _season_belief(
        self, flour: str, supplier: str, season: str, i: int, j: int, without: Evidence
    ) -> tuple[float, float]:
        """Belief about a type of a supplier in a season, `without` the evidence of one lot."""
        spread = _supplier_sd(supplier)
        others, siblings = self._level(flour, None, None, i, j), self._level(flour, supplier, None, i, j)
        own = self._level(flour, supplier, season, i, j)
        if supplier in self._tree.get(flour, {}):
            others = others - siblings.through(spread)
        if season in self._tree.get(flour, {}).get(supplier, {}):
            siblings = siblings - own.through(SEASON_SD)
        mean, variance = others.belief(0.0, TYPE_SD**2)
        mean, variance = siblings.belief(mean, variance + spread**2)
        return (own - without).belief(mean, variance + SEASON_SD**2)

    def forecast(
        self, lot: str | LotRecord, day: float, *, cook: str | None = None, humidity_pct: float | None = None
    ) -> Forecast:
        """The next batch of a lot on a day (days since 1970).

        A lot that no batch is known of is forecast as one of its flour type and supplier: what is known of it
        is given as a record. `cook`: who will judge; `humidity_pct`: of the air, as it was told.
        """
        given = lot if isinstance(lot, LotRecord) else LotRecord(lot)
        record = self.records.get(given.lot, given)
        season = record.season or season_of(day)
        about = self._expected(record) + self.biases.of_air(humidity_pct)
        if not record.seen:
            about += self.store_share * self._swing(record, (day, humidity_pct))
        own = [self._in_this_air(one, humidity_pct) for one in self._seen.get(record.lot, [])]
        moves = self._moves(record.lot)
        changed = moves.certain
        widened = {one.since for one in changed}
        ways = [(1.0 - moves.maybe, widened)]
        if moves.maybe > WORTH_A_DOUBT:
            ways.append((moves.maybe, widened | {moves.maybe_since}))
        parts, usual, noise_mean = [], [], 0.0
        for i, sd in enumerate(BATCH_NOISE):
            weight, mean, variance = self._lot_prior(record, season, i)
            if weight < 0.01:
                continue
            noise_mean += weight * sd
            for share_of_way, places in ways:
                runs = [follow(own, about + mean, variance, noise(sd), walk, places) for walk in WALK]
                for run, walk, prior in zip(runs, WALK, WALK_PRIOR, strict=True):
                    fit = exp(run.log_probability - runs[0].log_probability)
                    counts = weight * share_of_way * prior * fit
                    later = run.variance + walk * walk * (days_between(own[-1].day, day) if own else 0.0)
                    parts += [(counts * share, run.mean, later + spread) for share, spread in noise(sd)]
                    usual.append((counts, run.mean, later + sd * sd))
        ends = Mixture(parts)
        return Forecast(
            lot=record.lot,
            flour=record.flour,
            recipe=record.recipe,
            batches=len(record.seen),
            likely_pct=ends.quantile(0.5),
            low_pct=ends.quantile(0.05),
            high_pct=ends.quantile(0.95),
            safe_pct=ends.quantile(SAFE_SHARE),
            noise_pct=noise_mean,
            drift_points=changed[-1].points if changed else 0.0,
            moved_now=self._is_news(record, changed),
            window_pct=self.window_pct,
            bias_pct=self.biases.of(cook, None),
            climbed=record.climbed,
            ends=ends,
            usual=Mixture(usual),
        )

    def _moves(self, lot: str) -> Moves:
        """How a lot has moved while it was open."""
        own = self._seen.get(lot, [])
        if not own:
            return Moves()
        usual = noise(_listening_noise(self.noise_pct))
        return moves_of(own, self._expected(self.records[lot]), _UNKNOWN, usual)

    def _is_news(self, record: LotRecord, changed: Sequence[Change]) -> bool:
        """Whether a change is heard with the newest batch of a lot that was not heard without it."""
        if not changed or (record.newest is not None and record.seen[-1].batch != record.newest):
            return False
        before = {**self.records, record.lot: replace(record, seen=record.seen[:-1])}
        without = FlourMemory(list(before.values()), self.target_pct)
        return len(without._moves(record.lot).certain) < len(changed)

    def _in_this_air(self, one: Seen, humidity_pct: float | None) -> Seen:
        """A batch's bounds as they would be in this air."""
        off = self.biases.of_air(humidity_pct)
        return one if not off else replace(one, bounds=Bounds(one.bounds.low + off, one.bounds.high + off))

    def _lot_prior(self, record: LotRecord, season: str, i: int) -> tuple[float, float, float]:
        """Weight of a batch noise, and what the other lots say of this one's mean: its mean and variance.

        The spreads of lots are put together into one normal of the same two moments.
        """
        total = first = second = 0.0
        for j, spread in enumerate(LOT_SPREAD):
            weight = self._weights[i, j]
            own = self._own[record.lot][i].through(spread) if record.lot in self._own else Evidence()
            mean, variance = self._season_belief(record.flour, record.supplier, season, i, j, own)
            total += weight
            first += weight * mean
            second += weight * (variance + spread * spread + mean * mean)
        if total <= 0.0:
            return 0.0, 0.0, 1.0
        mean = first / total
        return total, mean, second / total - mean * mean

    def seasons(self) -> list[SeasonLine]:
        """What each flour type wants in each season that the kitchen saw, by supplier."""
        lines = []
        for flour, suppliers in sorted(self._tree.items()):
            found = [(season, supplier) for supplier, seasons in suppliers.items() for season in seasons]
            for season, supplier in sorted(found, key=lambda one: (one[1], SEASONS.index(one[0]))):
                lots = suppliers[supplier][season]
                # Without the moisture of single lots: as flour of the reference moisture.
                one = self.records[lots[0]]
                target = self.target_pct if one.expected_pct is None else one.expected_pct
                parts = []
                for (i, j), weight in self._weights.items():
                    mean, variance = self._season_belief(flour, supplier, season, i, j, Evidence())
                    parts.append((weight, target + mean, variance))
                line = Mixture(parts)
                low, high = line.quantile(0.05), line.quantile(0.95)
                lines.append(SeasonLine(flour, season, len(lots), line.mean, low, high, supplier))
        return lines

    @property
    def noise_pct(self) -> float:
        """Batch noise as learned from all lots (points)."""
        return sum(weight * BATCH_NOISE[i] for (i, _), weight in self._weights.items())


def _shift(record: LotRecord, target_pct: float) -> float:
    """Points of hydration by which a lot's measured moisture moves it; 0 where it was not measured."""
    if record.moisture_pct is None:
        return 0.0
    try:
        return corrected_hydration_pct(target_pct, REFERENCE_MOISTURE_PCT, record.moisture_pct) - target_pct
    except DoughError:
        return 0.0


def _listening_noise(learned: float) -> float:
    """Batch noise (points) with which a change is listened for, by the usual and the learned one.

    Lots that move, and are not heard of yet, are learned as noise; so are batches that were misweighed. The
    factor was chosen in simulated kitchens, for one false alarm in 50 lots.
    """
    return 0.85 * sqrt(USUAL_NOISE * learned)


def _supplier_sd(supplier: str) -> float:
    """Spread of suppliers; where none is named, all lots are as of one."""
    return SUPPLIER_SD if supplier else 0.0
