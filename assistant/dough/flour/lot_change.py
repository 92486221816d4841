"""Whether an open lot has moved: flour dries in an open bag, or takes up damp.

Two cumulative sums (Page, Biometrika 41:100, 1954, from memory), one for a lot that takes more and one for a
lot that takes less. Each batch adds the logarithm of how much better a lot that has moved by about a point
forecasts it than one that stays; a sum that falls below nothing begins again from what is known by then. Of a
sum past `ALARM` the lot has moved since the sum began: what was known before is widened. Verdicts are bounds,
outliers are allowed for, so that one misweighed batch is no change; `tests/bench/flour_changes.py` measures
how soon a change is heard, and how often one that is none.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

from assistant.dough.censored import Noise, seen
from assistant.dough.lots import Seen

MOVE_PCT, MOVE_SD = 0.8, 0.45
"""What is listened for: a lot that moves by about a point (points of hydration, standard deviation)."""
EVEN = 4.7
"""Sum at which a lot is as likely to have moved as not: one batch in a hundred begins a move (assumption)."""
ALARM = 5.3
"""Sum (natural logarithm of the odds) from which a lot has moved; measured, see the benchmark."""
FORGET_SD = 0.9
"""Standard deviation (points) by which what is known of a lot widens where it has moved."""
SETTLED = 2
"""Batches from which a lot is known at all: before them it has not moved, it was another than expected."""
_ODDS_AT_MOST = 3.0
"""No batch by itself speaks louder than this for a change (natural logarithm)."""


@dataclass(frozen=True, slots=True)
class Change:
    """A lot that has moved."""

    since: int
    """Place of the first batch that it is heard in, among those of the lot."""
    heard: int
    """Place of the batch by which it was certain."""
    points: float
    """How far it has moved by then (points of hydration)."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What is heard of a lot's moves."""

    certain: tuple[Change, ...] = ()
    maybe_since: int = 0
    """Place of the batch from which on it may have moved again."""
    odds: float = 0.0
    """How much speaks for that (natural logarithm); not above 0: nothing."""

    @property
    def maybe(self) -> float:
        """Probability of that (0 to 1)."""
        return 0.0 if self.odds <= 0.0 else 1.0 / (1.0 + exp(EVEN - self.odds))


@dataclass(slots=True)
class _Sum:
    """One of the two sums, and the belief about a lot that has moved since it began."""

    way: float
    odds: float = 0.0
    since: int = 0
    mean: float = 0.0
    variance: float = 0.0
    least: float = 0.0
    """Mean of the lot when the sum began."""


def moves_of(own: Sequence[Seen], mean: float, variance: float, noise: Noise) -> Moves:
    """How a lot has moved, by its batches, oldest first.

    `mean`, `variance`: what is believed of it before the first; `noise`: of its batches.
    """
    found: list[Change] = []
    sums = (_Sum(1.0), _Sum(-1.0))
    for place, batch in enumerate(own):
        low, high = batch.bounds.low, batch.bounds.high
        stays, after, left = seen(mean, variance, low, high, noise)
        for one in sums if place >= SETTLED else ():
            if one.odds <= 0.0:
                one.odds, one.since, one.least = 0.0, place, mean
                one.mean, one.variance = mean + one.way * MOVE_PCT, variance + MOVE_SD**2
            moved, one.mean, one.variance = seen(one.mean, one.variance, low, high, noise)
            one.odds += max(-_ODDS_AT_MOST, min(_ODDS_AT_MOST, log(max(moved, 1e-12) / max(stays, 1e-12))))
        mean, variance = after, left
        loudest = max(sums, key=lambda one: one.odds)
        if loudest.odds >= ALARM:
            found.append(Change(loudest.since, place, loudest.mean - loudest.least))
            mean, variance = loudest.mean, loudest.variance
            for one in sums:
                one.odds = 0.0
    loudest = max(sums, key=lambda one: one.odds)
    return Moves(tuple(found), loudest.since, loudest.odds)
