"""How wide ready is: how far beyond its end a crumb may be before it is called wet. Learned from all batches.

Common practice says about one top-up of 1 % of the flour; a kitchen's die and its cooks may say less or more.
Each width of a grid counts by how well the bounds that follow from it agree with what else is known of their
lots.
"""

from collections.abc import Iterable, Sequence
from math import exp, inf, log

from assistant.dough.censored import Noise, log_or_least, seen
from assistant.dough.evidence import WINDOW_PCT, Squeeze, bounds
from assistant.dough.lots import Seen

WIDTHS = (0.5, 0.65, 0.8, 1.0, 1.25, 1.6)
"""Grid of the width (points of hydration)."""
WIDTH_PRIOR = (0.07, 0.13, 0.20, 0.30, 0.20, 0.10)
_WRONG = 0.04
"""How much verdicts count that contradict each other at a width: a squeeze errs, batches differ."""


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
        total += log_or_least(chance)
        if _contradict(one.squeezes, width):
            total += log(_WRONG)
    return total


def _contradict(squeezes: Sequence[Squeeze], width: float) -> bool:
    """Whether no end explains all verdicts of a batch at this width."""
    low, high = -inf, inf
    for finding, pct in squeezes:
        if finding in ("dry", "ready"):
            low = max(low, pct if finding == "dry" else pct - width)
        if finding in ("ready", "wet"):
            high = min(high, pct if finding == "ready" else pct - width)
    return low >= high
