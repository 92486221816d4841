"""The memory for flour: against exact integration, by simulation, and what it notices and does not claim."""

import math
import random
from typing import Any

import numpy as np
import pytest

from assistant.dough import flour_memory as model
from assistant.dough import lots
from assistant.dough.evidence import Bounds
from assistant.dough.flour import lot_history as history
from assistant.dough.flour.lot_history import noise as noise_of
from assistant.dough.flour.staging import first_water_pct
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen

DAY = 20_500.0


def lot(
    name: str, ends: list[float], *, width: float = 0.6, flour: str = "semolina", step: float = 0.5
) -> LotRecord:
    """A lot whose batches ended in intervals around these hydrations."""
    seen = [
        Seen(DAY + step * k, Bounds(end - width / 2, end + width / 2), k + 1) for k, end in enumerate(ends)
    ]
    return LotRecord(name, flour, None, tuple(seen))


def scattered(mean: float, count: int, seed: int, sd: float = 0.25) -> list[float]:
    luck = random.Random(seed)
    return [luck.gauss(mean, sd) for _ in range(count)]


def test_it_says_when_it_knows_nothing() -> None:
    found = FlourMemory([]).forecast(LotRecord("12", "semolina"), DAY)
    assert not found.known
    assert found.batches == 0
    assert found.likely_pct == pytest.approx(31.0, abs=0.01)
    assert found.high_pct - found.low_pct > 4
    assert found.safe_pct < 29
    assert not found.is_far(Bounds(25, 26))


def test_a_lot_is_learned_from_its_batches() -> None:
    found = FlourMemory([lot("12", scattered(31.8, 12, 1))]).forecast("12", DAY + 6)
    assert found.batches == 12
    assert found.likely_pct == pytest.approx(31.8, abs=0.25)
    assert found.low_pct < 31.8 < found.high_pct
    assert found.high_pct - found.low_pct < 1.8
    assert found.safe_pct == found.low_pct
    assert first_water_pct(found, 50, 1) == pytest.approx(found.safe_pct)
    assert first_water_pct(found, found.safe_pct - 1, 1) == found.safe_pct - 1


def test_more_batches_make_it_surer() -> None:
    widths = []
    for count in (1, 3, 10, 30):
        found = FlourMemory([lot("12", scattered(31.5, count, 2))]).forecast("12", DAY + 15)
        widths.append(found.high_pct - found.low_pct)
    assert widths == sorted(widths, reverse=True)


def test_a_new_lot_leans_on_its_flour_and_season() -> None:
    known = [lot(f"s{k}", scattered(30.2, 8, k), flour="semolina") for k in range(6)]
    known += [lot(f"w{k}", scattered(33.5, 8, 50 + k), flour="wholegrain") for k in range(6)]
    memory = FlourMemory(known)
    assert memory.forecast(LotRecord("new", "semolina"), DAY).likely_pct == pytest.approx(30.2, abs=0.35)
    assert memory.forecast(LotRecord("new", "wholegrain"), DAY).likely_pct == pytest.approx(33.5, abs=0.35)
    lines = memory.seasons()
    assert [(line.flour, line.lots) for line in lines] == [("semolina", 6), ("wholegrain", 6)]
    assert all(line.low_pct < line.mean_pct < line.high_pct for line in lines)
    assert lines[0].mean_pct == pytest.approx(30.2, abs=0.35)


def test_measured_moisture_moves_a_lot_before_its_first_batch() -> None:
    """Source: mass balance, D: 31 % at 14 % is 32.523 at 13 % moisture."""
    dry = LotRecord("d", "semolina", 13.0)
    found = FlourMemory([dry]).forecast("d", DAY)
    assert found.likely_pct == pytest.approx(32.523, abs=0.01)
    assert not found.known


@pytest.mark.parametrize("drift", [0.08, -0.08])
def test_a_lot_that_drifts_is_noticed(drift: float) -> None:
    ends = [end + drift * k for k, end in enumerate(scattered(31.0, 20, 4, 0.15))]
    found = FlourMemory([lot("12", ends, step=1.0)]).forecast("12", DAY + 20)
    assert math.copysign(1, found.drift_points) == math.copysign(1, drift)
    assert abs(found.drift_points) > 0.5


def test_a_lot_that_stays_is_not_said_to_drift() -> None:
    for seed in range(4):
        found = FlourMemory([lot("12", scattered(31.0, 20, seed), step=1.0)]).forecast("12", DAY + 20)
        assert found.drift_points == 0


def test_a_batch_far_from_its_lot_is_noticed_and_moves_little() -> None:
    ends = scattered(31.0, 10, 5)
    memory = FlourMemory([lot("12", ends)])
    before = memory.forecast("12", DAY + 5)
    assert before.is_far(Bounds(33.0, 34.0))
    assert before.is_far(Bounds(34.0, math.inf))
    assert before.is_far(Bounds(-math.inf, 28.5))
    assert not before.is_far(Bounds(30.8, 31.4))
    after = FlourMemory([lot("12", [*ends, 34.0])]).forecast("12", DAY + 5)
    assert after.likely_pct - before.likely_pct < 0.2
    assert not FlourMemory([lot("12", ends[:2])]).forecast("12", DAY).is_far(Bounds(36, 37))


def test_evidence_of_a_lot_against_exact_integration(monkeypatch: pytest.MonkeyPatch) -> None:
    """One lot, all levels at once, on a grid of means for every noise and spread.

    Source: scipy.stats.norm, C. The moments that are kept between batches cost at most two in a hundred of
    probability here.
    """
    stats: Any = pytest.importorskip("scipy.stats")
    monkeypatch.setattr(model, "WALK", (0.0,))
    monkeypatch.setattr(model, "WALK_PRIOR", (1.0,))
    record = lot("12", [31.2, 31.9, 31.5, 32.2])
    seen = (*record.seen, Seen(DAY + 3, Bounds(30.4, math.inf), 9))
    found = FlourMemory([LotRecord("12", "semolina", None, seen)]).forecast("12", DAY + 4)
    x = np.array([found.low_pct, found.likely_pct, found.high_pct])
    means = np.linspace(24, 40, 801)
    cumulated = np.zeros_like(x)
    total = 0.0
    for sd, noise_prior in zip(model.BATCH_NOISE, model.NOISE_PRIOR, strict=True):
        noise = noise_of(sd)
        likelihood = np.ones_like(means)
        for one in seen:
            likelihood *= sum(
                share
                * (
                    stats.norm.cdf((one.bounds.high - means) / math.sqrt(v))
                    - stats.norm.cdf((one.bounds.low - means) / math.sqrt(v))
                )
                for share, v in noise
            )
        below = sum(share * stats.norm.cdf((x[:, None] - means) / math.sqrt(v)) for share, v in noise)
        for spread, spread_prior in zip(model.LOT_SPREAD, model.SPREAD_PRIOR, strict=True):
            wide = math.sqrt(model.TYPE_SD**2 + model.SEASON_SD**2 + spread**2)
            weights = likelihood * stats.norm.pdf(means, 31.0, wide) * noise_prior * spread_prior
            total += weights.sum()
            cumulated += below @ weights
    assert cumulated / total == pytest.approx([0.05, 0.5, 0.95], abs=0.02)


def simulated(luck: random.Random) -> tuple[list[LotRecord], float, float]:
    """Lots drawn from the model itself: their records, the day of the next batch, and its end."""
    sd = luck.choices(model.BATCH_NOISE, model.NOISE_PRIOR)[0]
    spread = luck.choices(model.LOT_SPREAD, model.SPREAD_PRIOR)[0]
    kind = luck.gauss(31.0, model.TYPE_SD)
    made: list[LotRecord] = []
    day, end = DAY, 0.0
    season = luck.gauss(kind, model.SEASON_SD)
    for number in range(4):
        mean = luck.gauss(season, spread)
        walk = luck.choices(model.WALK, model.WALK_PRIOR)[0]
        seen = []
        for batch in range(luck.randint(1, 10) + 1):
            mean += luck.gauss(0, walk * math.sqrt(0.5)) if batch else 0.0
            day = DAY + 0.5 * batch
            far = history.OUTLIER_TIMES if luck.random() < history.OUTLIER_SHARE else 1.0
            end = luck.gauss(mean, far * sd)
            # Squeezed at fixed places: what is seen is the interval that the end fell into.
            low = math.floor((end - 0.15) / 0.5) * 0.5 + 0.15
            seen.append(Seen(day, Bounds(low, low + 0.5), batch))
        made.append(LotRecord(str(number), "semolina", None, tuple(seen[:-1])))
    return made, day, end


def test_intervals_hold_what_they_promise() -> None:
    """Simulation-based calibration: truths drawn from the model lie in 90 % intervals 90 times of 100.

    240 draws; two standard errors are 3.9 points. `python -m tests.bench.calibration` draws thousands.
    """
    luck = random.Random(7)
    inside, under = [], []
    for _ in range(240):
        made, day, end = simulated(luck)
        found = FlourMemory(made).forecast("3", day)
        inside.append(found.low_pct <= end <= found.high_pct)
        under.append(end < found.safe_pct)
    assert 0.861 <= sum(inside) / len(inside) <= 0.939
    assert sum(under) / len(under) <= 0.08


@pytest.mark.parametrize(
    ("month", "season"),
    [(0, "Dec-Feb"), (70, "Mar-May"), (170, "Jun-Aug"), (270, "Sep-Nov"), (340, "Dec-Feb")],
)
def test_seasons_by_their_months(month: int, season: str) -> None:
    assert lots.season_of(20_454 + month) == season  # 2026-01-01 is day 20454


def test_a_clock_that_was_not_set_makes_nothing_forgotten() -> None:
    right = lot("12", scattered(31.6, 10, 6))
    jumped = LotRecord(
        "12",
        "semolina",
        None,
        tuple(Seen(0.0 if k == 4 else one.day, one.bounds, one.batch) for k, one in enumerate(right.seen)),
    )
    want = FlourMemory([right]).forecast("12", DAY + 5)
    found = FlourMemory([jumped]).forecast("12", DAY + 5)
    assert found.likely_pct == pytest.approx(want.likely_pct, abs=0.15)
    assert found.high_pct - found.low_pct < 1.5 * (want.high_pct - want.low_pct)


@pytest.mark.parametrize(
    ("grid", "prior"),
    [
        (model.BATCH_NOISE, model.NOISE_PRIOR),
        (model.LOT_SPREAD, model.SPREAD_PRIOR),
        (model.WALK, model.WALK_PRIOR),
    ],
)
def test_a_prior_is_a_distribution_over_its_grid(grid: tuple[float, ...], prior: tuple[float, ...]) -> None:
    assert len(grid) == len(prior)
    assert list(grid) == sorted(grid)
    assert sum(prior) == pytest.approx(1.0)
    assert min(prior) > 0
