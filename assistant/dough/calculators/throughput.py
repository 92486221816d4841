"""Dough through a die: what one die puts through, learned from batches, and when its trays come too slowly.

g/min of a batch is its dough over the time at the press, first tray and purge with it, so that a plan may use
it. The median of the batches counts, with its spread by the median deviation: one batch that was told wrongly
moves neither. All recipes and lots of a die count together. A die with few batches is planned with between
its own rate and that of the press's other dies, which is a weak prior for it. That a rate falls where the
crumb is dry or a die clogs is common practice, no source.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import exp, log, sqrt
from statistics import median

from assistant.dough.calculators.die_heat import LearnedEnergy, learned_energy
from assistant.dough.ranges import EXTRUDE_G_PER_MIN

LEAST_BATCHES = 4
"""From so many batches on a die's own rate is planned with."""
MOST_ERROR = 0.15
"""And only where its standard error is at most this share of it."""
DIE_SPREAD, BATCH_SPREAD = 0.35, 0.25
"""Spread of the dies of a press around their middle, and of a die's batches (standard deviation of the
logarithm; assumptions of ours: open areas differ by a half, batches by lot, recipe and cook)."""
LEAST_GAPS = 6
"""From so many trays on it is known how long one of this die takes; each batch's first has no time."""
SLOWER, SLOWER_THAN_BEFORE = 1.3, 1.5
"""Trays are slow from this much more time on: than the die's usual one, or than the first of this batch.

Where trays differ by 15 % (standard deviation) at most 1 batch in 50 of six trays is called without a cause,
and one whose trays take half as long again is called by the fourth such tray in nine of ten batches:
by simulation, `tests/dough/calculators/test_throughput.py`.
"""
RUNNING = 2
"""So many running have to be slow."""
OWN_GAPS = 3
"""First trays of a batch that stand for a die of which nothing is known."""
LEAST_TRAY_S = 20.0
"""Trays sooner behind each other than this (s) were told together, afterwards."""
A_PAUSE = 3.0
"""A tray that takes so many times the usual was a pause of the cook's."""
_NINE_OF_TEN = 1.645
"""Nine of ten are within so many standard deviations."""
_TO_SIGMA, _OF_A_MEDIAN = 1.4826, 1.2533
"""Median deviation to standard deviation, and standard error of a median to that of a mean: normal spread."""


@dataclass(frozen=True, slots=True)
class DieRun:
    """A batch through one die, as its journal tells it."""

    die: str | None
    """Name of the die; None: not named."""
    grams: float
    """Dough that went through, what was trimmed with it (g)."""
    seconds: float
    """Time at the press, pauses for a mix or another die taken off (s)."""
    gaps_s: tuple[float, ...] = ()
    """From one full tray to the next (s)."""
    energies: tuple[float, ...] = ()
    """Specific energy by each spoken temperature of the strand (kJ per kg of dough)."""
    exit_c: float | None = None
    """The warmest of those (C)."""

    @property
    def g_per_min(self) -> float:
        """Dough through the die (g a minute)."""
        return 60.0 * self.grams / self.seconds

    @property
    def plausible(self) -> bool:
        """Whether it is a rate of a press at all; else what was told lacks something."""
        return self.seconds > 0 and EXTRUDE_G_PER_MIN.least <= self.g_per_min <= EXTRUDE_G_PER_MIN.most


@dataclass(frozen=True, slots=True)
class DieFigures:
    """What is known of one die."""

    die: str | None
    batches: int
    """Batches with a rate."""
    g_per_min: float | None
    """Median of their rates (g a minute); None without any."""
    low_g_per_min: float | None
    high_g_per_min: float | None
    """Nine batches in ten are between these, by the spread of those known (g a minute); None below two."""
    sure: bool
    """Whether that is enough to plan with by itself."""
    tray_s: float | None
    """Median time of a tray (s); None where too few are known."""
    energy: LearnedEnergy | None
    """Heat at the die; None where no temperature was told."""
    planned_g_per_min: float | None = None
    """Rate to plan with (g a minute): its own, where that is sure, else drawn to that of the press's other
    dies; None where too little is known of those."""


def figures_of(runs: Iterable[DieRun]) -> dict[str | None, DieFigures]:
    """What batches say of each die, in the order of their last use: the newest first."""
    grouped: dict[str | None, list[DieRun]] = {}
    for run in runs:
        grouped[run.die] = [*grouped.pop(run.die, []), run]
    found = {die: _figures(die, own) for die, own in reversed(grouped.items())}
    return {die: replace(one, planned_g_per_min=_planned(one, found.values())) for die, one in found.items()}


def _planned(one: DieFigures, dies: Iterable[DieFigures]) -> float | None:
    """Rate (g a minute) to plan with: means of logarithms, each weighed by how far it may be off."""
    if one.g_per_min is None or one.sure:
        return one.g_per_min
    others = [(log(other.g_per_min), other.batches) for other in dies if other is not one and other.g_per_min]
    if sum(batches for _, batches in others) < LEAST_BATCHES:
        return None
    press = median(rate for rate, _ in others)
    apart = DIE_SPREAD**2 * (1.0 + 1.0 / len(others))
    # Batches of this die that disagree say less.
    spread = max(BATCH_SPREAD, ((one.high_g_per_min or 0.0) / one.g_per_min - 1.0) / _NINE_OF_TEN)
    own, prior = one.batches / spread**2, 1.0 / apart
    return exp((own * log(one.g_per_min) + prior * press) / (own + prior))


def _figures(die: str | None, runs: Sequence[DieRun]) -> DieFigures:
    rates = [run.g_per_min for run in runs if run.plausible]
    gaps = [gap for run in runs for gap in run.gaps_s if gap >= LEAST_TRAY_S]
    middle = median(rates) if rates else None
    spread = _spread(rates)
    return DieFigures(
        die=die,
        batches=len(rates),
        g_per_min=middle,
        low_g_per_min=None if middle is None or spread is None else max(0.0, middle - _NINE_OF_TEN * spread),
        high_g_per_min=None if middle is None or spread is None else middle + _NINE_OF_TEN * spread,
        sure=middle is not None
        and spread is not None
        and len(rates) >= LEAST_BATCHES
        and _OF_A_MEDIAN * spread / sqrt(len(rates)) <= MOST_ERROR * middle,
        tray_s=median(gaps) if len(gaps) >= LEAST_GAPS else None,
        energy=learned_energy([one for run in runs for one in run.energies]),
    )


def _spread(values: Sequence[float]) -> float | None:
    """Standard deviation by the median deviation; None of fewer than two."""
    if len(values) < 2:
        return None
    middle = median(values)
    return _TO_SIGMA * median(abs(value - middle) for value in values)


@dataclass(frozen=True, slots=True)
class Slow:
    """Trays that come slower than they should."""

    slower_pct: float
    """By how much more time each takes (%)."""
    usual_s: float
    """Time of a tray that they are held against (s)."""


def slow(gaps_s: Sequence[float], usual_s: float | None) -> Slow | None:
    """Whether the last trays of a batch came slowly; None where not, or where that can't be said yet.

    `usual_s`: time of a tray of this die (s); None: the first ones of this batch stand for it.
    """
    limit, seen = SLOWER, [gap for gap in gaps_s if gap >= LEAST_TRAY_S]
    if usual_s is None:
        if len(seen) < OWN_GAPS + RUNNING:
            return None
        usual_s, limit, seen = median(seen[:OWN_GAPS]), SLOWER_THAN_BEFORE, seen[OWN_GAPS:]
    last = seen[-RUNNING:]
    if len(last) < RUNNING or not all(limit <= gap / usual_s < A_PAUSE for gap in last):
        return None
    return Slow(100.0 * (sum(last) / RUNNING / usual_s - 1.0), usual_s)
