"""The model of the memory for flour: all its levels against exact integration, and each rule at its edge."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.dough import flour_memory as model
from assistant.dough.censored import Mixture
from assistant.dough.evidence import Bounds
from assistant.dough.flour.lot_history import days_between, noise
from assistant.dough.flour.staging import first_water_pct
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen, by_lot
from tests.dough.test_lots import DAY, lot, scattered

inf = math.inf


def test_a_large_movement_that_is_not_probable_is_not_reported() -> None:
    """Batches that scatter widely: the mean may have moved, but noise explains it as well."""
    found = FlourMemory([lot("12", scattered(31.0, 10, 2, 0.6), step=3.0)]).forecast("12", DAY + 30)
    assert found.drift_points == 0


@pytest.mark.parametrize(
    ("earlier", "later", "days"), [(3, 5, 2), (5, 3, 0), (0, 120, 120), (0, 121, 120), (0, 20_500, 120)]
)
def test_days_that_count(earlier: float, later: float, days: float) -> None:
    assert days_between(earlier, later) == days


def test_the_newest_forty_batches_count() -> None:
    old, new = scattered(28.0, 20, 1), scattered(32.0, 40, 2)
    whole = lot("12", [*old, *new])
    found = FlourMemory([whole]).forecast("12", DAY + 30)
    alone = FlourMemory([replace(whole, seen=whole.seen[20:])]).forecast("12", DAY + 30)
    assert found.batches == 60
    assert (found.low_pct, found.likely_pct, found.high_pct) == (
        alone.low_pct,
        alone.likely_pct,
        alone.high_pct,
    )


def test_a_lot_that_was_left_open_is_less_sure() -> None:
    memory = FlourMemory([lot("12", scattered(31.0, 12, 4))])
    soon, late = (memory.forecast("12", DAY + days) for days in (6, 100))
    assert late.high_pct - late.low_pct > 1.05 * (soon.high_pct - soon.low_pct)


def test_seasons_of_a_flour_differ() -> None:
    """Lots of winter end at 30.3, those of summer, half a year on, at 31.3."""
    winter = [lot(f"w{k}", scattered(30.3, 10, k, 0.15)) for k in range(6)]
    summer = [lot(f"s{k}", scattered(31.3, 10, 20 + k, 0.15)) for k in range(6)]
    summer = [
        replace(one, seen=tuple(replace(seen, day=seen.day + 182) for seen in one.seen)) for one in summer
    ]
    lines = FlourMemory([*winter, *summer]).seasons()
    assert len(lines) == 2
    assert 0.4 < abs(lines[0].mean_pct - lines[1].mean_pct) < 1.0


def test_moisture_is_taken_off_before_a_lot_counts_for_others() -> None:
    """31 % at 14 % moisture is 32.523 at 13 % (mass balance): dry lots that end there say 31."""
    dry = [replace(lot(f"d{k}", scattered(32.52, 8, k)), moisture_pct=13.0) for k in range(5)]
    new = FlourMemory(dry).forecast(LotRecord("new", "semolina"), DAY)
    assert new.likely_pct == pytest.approx(31.0, abs=0.2)
    known = FlourMemory(dry).forecast("d0", DAY + 5)
    assert known.likely_pct == pytest.approx(32.5, abs=0.3)


def test_a_moisture_that_can_not_be_moves_nothing() -> None:
    wet = FlourMemory([LotRecord("w", "semolina", 45.0)]).forecast("w", DAY)
    assert wet.likely_pct == FlourMemory([LotRecord("w", "semolina")]).forecast("w", DAY).likely_pct


def test_the_noise_has_three_outliers_in_a_hundred_of_four_times_its_size() -> None:
    assert noise(0.5) == ((0.97, 0.25), (0.03, 4.0))


@pytest.mark.parametrize(
    ("bounds", "batches", "far"),
    [
        # One in a hundred is 2.326 standard deviations out: normal distribution.
        (Bounds(-inf, 31 - 2.30), 3, False),
        (Bounds(-inf, 31 - 2.35), 3, True),
        (Bounds(31 + 2.30, inf), 3, False),
        (Bounds(31 + 2.35, inf), 3, True),
        (Bounds(31 + 2.35, inf), 2, False),
    ],
)
def test_far_is_less_than_one_in_a_hundred_from_three_batches_on(
    bounds: Bounds, batches: int, far: bool
) -> None:
    found = FlourMemory([]).forecast("12", DAY)
    found = replace(found, batches=batches, usual=Mixture([(1.0, 31.0, 1.0)]))
    assert found.is_far(bounds) is far


def test_no_first_pour_is_negative() -> None:
    found = replace(FlourMemory([]).forecast("12", DAY), safe_pct=-2.0)
    assert first_water_pct(found, 31, 0.72) == 0


def test_the_lot_last_used_comes_first() -> None:
    records = {name: lot(name, [31.0] * count) for name, count in (("a", 2), ("b", 5), ("c", 3))}
    records["new"] = LotRecord("new")
    assert [record.lot for record in by_lot(records)] == ["b", "c", "a", "new"]


Grid = NDArray[np.float64]
STEP = 0.05
MEANS = np.arange(26.0, 37.0, STEP)


def test_all_levels_against_exact_integration(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lots of two flours and two seasons, on a grid of means for every noise and spread.

    Source: scipy.stats.norm, C. The moments that are kept between batches and between spreads cost at most
    three in a hundred of probability here.
    """
    stats: Any = pytest.importorskip("scipy.stats")
    monkeypatch.setattr(model, "WALK", (0.0,))
    monkeypatch.setattr(model, "WALK_PRIOR", (1.0,))
    summer = lot("c", [32.0, 32.6, 32.4])
    records = [
        lot("a", [30.2, 30.9, 30.4, 30.6]),
        lot("b", [31.6, 31.9]),
        replace(summer, seen=tuple(replace(one, day=one.day + 182) for one in summer.seen)),
        lot("w", [33.6, 33.1, 33.4], flour="wholegrain"),
    ]
    memory = FlourMemory(records)
    for name in ("a", "b", "c"):
        found = memory.forecast(name, records[2].seen[-1].day)
        x = np.array([found.low_pct, found.likely_pct, found.high_pct])
        below, noise_mean = exact(stats.norm, records, name, x)
        assert below == pytest.approx([0.05, 0.5, 0.95], abs=0.03)
        assert found.noise_pct == pytest.approx(noise_mean, rel=0.05)
    assert memory.noise_pct == pytest.approx(noise_mean, rel=0.05)


def exact(norm: Any, records: list[LotRecord], name: str, x: Grid) -> tuple[Grid, float]:
    """Probability of the next end of a lot below each x, and the mean of the noise, by sums over the grid."""

    kernels = {sd: norm.pdf(MEANS[:, None], MEANS, sd) * STEP for sd in (*model.LOT_SPREAD, model.SEASON_SD)}

    def blur(density: Grid, sd: float) -> Grid:
        return np.asarray(kernels[sd] @ density)

    wanted = next(one for one in records if one.lot == name)
    cumulated, total, noises = np.zeros_like(x), 0.0, 0.0
    prior = norm.pdf(MEANS, 31.0, model.TYPE_SD)
    for sd, noise_prior in zip(model.BATCH_NOISE, model.NOISE_PRIOR, strict=True):
        own = {record.lot: likelihood(norm, record.seen, sd) for record in records}
        below = sum(share * norm.cdf((x[:, None] - MEANS) / math.sqrt(v)) for share, v in noise(sd))
        for spread, spread_prior in zip(model.LOT_SPREAD, model.SPREAD_PRIOR, strict=True):
            weight = noise_prior * spread_prior
            belief = np.ones_like(MEANS)
            for flour in {record.flour for record in records}:
                kind = np.ones_like(MEANS)
                rest = np.ones_like(MEANS)
                others = np.ones_like(MEANS)
                for season in {record.season for record in records if record.flour == flour}:
                    of = [one for one in records if (one.flour, one.season) == (flour, season)]
                    level = np.prod([blur(own[one.lot], spread) for one in of], axis=0)
                    kind = kind * blur(level, model.SEASON_SD)
                    if wanted in of:
                        others = np.prod(
                            [
                                np.ones_like(MEANS),
                                *[blur(own[one.lot], spread) for one in of if one != wanted],
                            ],
                            axis=0,
                        )
                    else:
                        rest = rest * blur(level, model.SEASON_SD)
                weight *= float((kind * prior).sum() * STEP)
                if flour == wanted.flour:
                    belief = blur(blur(prior * rest, model.SEASON_SD) * others, spread) * own[name]
            belief /= belief.sum()
            total += weight
            noises += weight * sd
            cumulated += weight * (below @ belief)
    return cumulated / total, noises / total


def likelihood(norm: Any, seen: tuple[Seen, ...], sd: float) -> Grid:
    """Probability of the bounds of a lot's batches, for each mean of the grid."""
    found = np.ones_like(MEANS)
    for one in seen:
        found = found * sum(
            share
            * (
                norm.cdf((one.bounds.high - MEANS) / math.sqrt(v))
                - norm.cdf((one.bounds.low - MEANS) / math.sqrt(v))
            )
            for share, v in noise(sd)
        )
    return found
