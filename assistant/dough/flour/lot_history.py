"""A lot followed through its batches: the belief about its mean, and what its batches say to others.

Between two batches its mean may walk; where it moved at once, what was known is widened.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import log

from assistant.dough.censored import Evidence, Noise, log_or_least, seen
from assistant.dough.flour.lot_change import FORGET_SD
from assistant.dough.lots import Seen

OUTLIER_SHARE, OUTLIER_TIMES = 0.03, 4.0
"""Share of batches that are outliers, and how many times the noise they have."""
_WIDE = 4.0
"""Standard deviation of the belief from which a lot's own evidence is summed up; taken out again after it."""
LONGEST_GAP_DAYS = 120.0
"""No pause between two batches counts for longer: a clock that was not set must not make all evidence old."""


def noise(sd: float) -> Noise:
    """Batch noise with its outliers."""
    return (1.0 - OUTLIER_SHARE, sd * sd), (OUTLIER_SHARE, (OUTLIER_TIMES * sd) ** 2)


@dataclass(frozen=True, slots=True)
class Run:
    """A lot followed through its batches."""

    mean: float
    """Belief about the lot's mean after the last batch (%)."""
    variance: float
    """Variance of that belief (points squared)."""
    log_probability: float
    """How well all batches were forecast."""


def follow(
    own: Sequence[Seen],
    mean: float,
    variance: float,
    spread: Noise,
    walk: float,
    widened: Collection[int] = (),
) -> Run:
    """Take in batches in order of time; in between the mean walks (points per square root of a day).

    `widened`: places of batches from which on the lot is another, as far as `FORGET_SD`.
    """
    chance = 0.0
    day = own[0].day if own else 0.0
    for place, batch in enumerate(own):
        variance += walk * walk * days_between(day, batch.day)
        if place in widened:
            variance += FORGET_SD**2
        day = batch.day
        probability, mean, variance = seen(mean, variance, batch.bounds.low, batch.bounds.high, spread)
        chance += log_or_least(probability)
    return Run(mean, variance, chance)


def days_between(earlier: float, later: float) -> float:
    """Days between two batches that count."""
    return min(LONGEST_GAP_DAYS, max(0.0, later - earlier))


def sum_up(own: Sequence[Seen], about: float, spread: Noise) -> Evidence:
    """Evidence of batches about their lot's mean, as deviation from `about`, whatever was believed before."""
    run = follow(own, about, _WIDE**2, spread, 0.0)
    weight = max(1e-9, 1.0 / run.variance - 1.0 / _WIDE**2)
    pull = (run.mean - about) / run.variance
    wider = 1.0 + weight * _WIDE**2
    level = run.log_probability + 0.5 * log(wider) - 0.5 * pull * pull * _WIDE**2 / wider
    return Evidence(level, pull, weight)
