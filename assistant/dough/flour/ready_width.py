"""How wide ready is: how far beyond its end a crumb may be before it is called wet. Learned from all batches.

Common practice says about one top-up of 1 % of the flour; a kitchen's die and its cooks may say less or more.
Each width of a grid counts by how well the bounds that follow from it agree with what else is known of their
lots.
"""

from collections.abc import Iterable, Sequence
from math import exp, log

from assistant.dough.censored import Noise, log_or_least, seen
from assistant.dough.evidence import WINDOW_PCT, bounds
from assistant.dough.lots import Seen

WIDTHS = (0.5, 0.75, 1.0, 1.3, 1.7)
"""Grid of the width (points of hydration)."""
WIDTH_PRIOR = (0.08, 0.24, 0.40, 0.20, 0.08)
_WRONG = 0.02
"""Probability of verdicts that a width can't explain: a squeeze was misjudged."""


def ready_width(lots: Iterable[tuple[Sequence[Seen], float]], variance: float, noise: Noise) -> float:
    """Mean width of ready (points) after the batches of these lots, each with its expected mean (%).

    `variance` is that of the lots around it, `noise` of batches around their lot. Only batches in which more
    than one thing was felt tell anything.
    """
    said = [(own, about) for own, about in lots if any(one.squeezes for one in own)]
    if not any(finding == "wet" for own, _ in said for one in own for finding, _ in one.squeezes):
        return WINDOW_PCT
    logs = []
    for width, prior in zip(WIDTHS, WIDTH_PRIOR, strict=True):
        total = log(prior)
        for own, mean in said:
            total += _agreement(own, width, mean, variance, noise)
        logs.append(total)
    most = max(logs)
    weights = [exp(one - most) for one in logs]
    return sum(width * weight for width, weight in zip(WIDTHS, weights, strict=True)) / sum(weights)


def _agreement(own: Sequence[Seen], width: float, mean: float, variance: float, noise: Noise) -> float:
    """How well one lot's batches agree with each other at this width (natural logarithm)."""
    total = 0.0
    for one in own:
        found = bounds(one.squeezes, width)
        if found is None:
            continue
        chance, mean, variance = seen(mean, variance, found.low, found.high, noise)
        total += log_or_least(_WRONG + (1.0 - _WRONG) * chance)
    return total
