"""What rests on the plate, from noisy samples: a level that a motor's swell is taken out of. Pure.

A motor folds to a slow swell (sampling theorem), and a plain mean keeps a part of one that is no whole number of
periods long. Of a swell faster than two periods, weights that rise and fall like a Hann window leave 2.7 % at most
(its first side lobe, -31 dB: Harris, Proceedings of the IEEE 66(1):51-83, 1978). A slower one is fitted by least
squares beside the level, and taken for one where hardly anything else is left.
"""

from collections.abc import Sequence
from math import cos, pi, sin, sqrt

SPAN_S = 3.0
"""What a standstill is made of (s). With 4.5 and 6 s, where that long nothing moved, pours in the simulated year were
further off: what dripped before the lift was in it."""
PERIODS = (0.5, 2.0)
"""A swell of so many periods in the samples is looked for; of less, level and swell can't be told apart."""
LEFT = 0.2
"""A swell is one where so much (share, root mean square) of what moves is left without it."""
DOUBT_G = 1.0
"""Its level is taken where its own standard error is smaller (g)."""
_STEPS = 33
_POINTS = 40


def resting(samples: Sequence[tuple[float, float]]) -> float:
    """Level (g) of samples (s, g) at even times, one at least; what lies far off the rest counts as the far end of it."""
    ranked = sorted(grams for _, grams in samples)
    last = len(ranked) - 1
    middle, low, high = (ranked[round(share * last)] for share in (0.5, 0.1, 0.9))
    reach = 3.0 * max(high - middle, middle - low)
    grams = [min(middle + reach, max(middle - reach, one)) for _, one in samples]
    level = _without_swell(_in_points(grams))
    return _hann_mean(grams) if level is None else level


def _hann_mean(grams: Sequence[float]) -> float:
    weights = [1.0 - cos(2 * pi * (index + 0.5) / len(grams)) for index in range(len(grams))]
    return sum(weight * one for weight, one in zip(weights, grams, strict=True)) / sum(weights)


def _in_points(grams: Sequence[float]) -> list[float]:
    """As means of neighbours, few enough to be fitted quickly."""
    size = -(-len(grams) // _POINTS)
    return [sum(grams[at : at + size]) / size for at in range(0, len(grams) - size + 1, size)]


def _without_swell(points: Sequence[float]) -> float | None:
    """Level beside the slow swell that fits best (g); None where none fits."""
    count = len(points)
    mean = sum(points) / count
    moves = [one - mean for one in points]
    total = sum(one * one for one in moves)
    if count < 12 or not total:
        return None
    fits = []
    for step in range(_STEPS):
        periods = PERIODS[0] + (PERIODS[1] - PERIODS[0]) * step / (_STEPS - 1)
        fits.append(_fit(moves, 2 * pi * periods / count))
    left, level, widening = min(fits)
    error = sqrt(max(0.0, left) / (count - 4) * widening)
    known = left <= LEFT * LEFT * total and error <= DOUBT_G and min(moves) <= level <= max(moves)
    return mean + level if known else None


def _fit(moves: Sequence[float], turn: float) -> tuple[float, float, float]:
    """Least squares of a level and a swell of `turn` (radians a sample): squares left, the level, its variance per theirs.

    Times are counted from the middle, so that cosine and level stand apart from the sine.
    """
    count, half = len(moves), (len(moves) - 1) / 2
    cosines = [cos(turn * (index - half)) for index in range(count)]
    sines = [sin(turn * (index - half)) for index in range(count)]
    c, cc, ss = sum(cosines), sum(one * one for one in cosines), sum(one * one for one in sines)
    y = sum(moves)
    yc = sum(one * other for one, other in zip(moves, cosines, strict=True))
    ys = sum(one * other for one, other in zip(moves, sines, strict=True))
    yy = sum(one * one for one in moves)
    apart = count * cc - c * c
    level, along, across = (cc * y - c * yc) / apart, (count * yc - c * y) / apart, ys / ss
    return yy - level * y - along * yc - across * ys, level, cc / apart
