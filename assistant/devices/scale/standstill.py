"""What rests on the plate, from noisy samples: a level that the swell of a motor is taken out of. Pure.

A motor folds to a slow swell (sampling theorem), and a plain mean keeps a part of a swell that is not a whole
number of periods long. Of a swell faster than two periods, weights that rise and fall like a Hann window
leave 2.7 % at most (its first side lobe, -31 dB: Harris, Proceedings of the IEEE 66(1):51-83, 1978). A slower
one is fitted by least squares together with the level, and accepted where it explains nearly all of the
movement.
"""

from collections import deque
from collections.abc import Callable, Sequence
from itertools import takewhile
from math import cos, pi, sin, sqrt

from assistant.devices.scale.readings import WINDOW_S

SPAN_S = 3.0
"""Length of a standstill (s). With 4.5 and 6 s, when nothing moved for that long, pours in the simulated year
were further off: what dripped before the lift was in it."""
GRIP_S = 0.7
"""The hand is on the handle this long (s) before the jug is off: what was weighed then does not count."""
LEAST_REST_S = 2.0
"""A shorter standstill (s) is worth less than what was weighed when the jug came back."""
PERIODS = (0.5, 2.0)
"""Fewest and most periods in the samples of the swells that are fitted; below, level and swell can't be told
apart."""
LEFT = 0.2
"""A swell is accepted where less than this share (root mean square) of the movement is left without it."""
DOUBT_G = 1.0
"""The level is used where its own standard error is smaller than this (g)."""
_STEPS = 33
_POINTS = 40

Sample = tuple[float, float]
"""When (s) and how much (g)."""


class Standstill:
    """Keeps what the standing jug weighs, to know after a lift what stood there before a hand gripped it."""

    def __init__(self) -> None:
        self._samples: deque[Sample] = deque()
        self._levels: deque[Sample] = deque()

    def begin(self, level: float, now: float) -> None:
        """The jug stands since `now` (s), at this level (g above zero)."""
        self._samples.clear()
        self._levels.clear()
        self._levels.append((now, level))

    def keep(self, since: Callable[[float], Sequence[Sample]], level: float, now: float) -> None:
        """Nothing moved up to `now` (s): add the level (g above zero) and the samples `since` the last call.

        Samples are kept as far back as they count; after a gap they start again.
        """
        last = self._samples[-1][0] if self._samples else float("-inf")
        if now - last > WINDOW_S:
            self._samples.clear()
        self._samples.extend(since(max(last, now - WINDOW_S)))
        while self._samples[0][0] < now - SPAN_S - GRIP_S:
            self._samples.popleft()
        self._levels.append((now, level))
        while len(self._levels) > 1 and self._levels[1][0] <= now - GRIP_S:
            self._levels.popleft()

    def level_g(self, zero_g: float) -> float:
        """What stood there (g above `zero_g`) before the grip."""
        end = self._samples[-1][0] - GRIP_S if self._samples else 0.0
        stood = [*takewhile(lambda sample: sample[0] <= end, self._samples)]
        long_enough = stood and stood[-1][0] - stood[0][0] >= LEAST_REST_S
        return resting(stood) - zero_g if long_enough else self._levels[0][1]


def resting(samples: Sequence[Sample]) -> float:
    """Level (g) of one or more samples (s, g) at even times; an outlier counts as the far end of the rest."""
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
    """Means of neighbours, few enough to be fitted quickly."""
    size = -(-len(grams) // _POINTS)
    return [sum(grams[at : at + size]) / size for at in range(0, len(grams) - size + 1, size)]


def _without_swell(points: Sequence[float]) -> float | None:
    """Level (g) with the slow swell that fits best taken out; None where none fits."""
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
    """Least squares of a level and a swell of `turn` (radians a sample).

    Returns the squares that are left, the level, and the level's variance per variance of a sample. Times are
    counted from the middle, so that cosine and level are independent of the sine.
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
