"""A normal whose draws are seen only as intervals: its moments, its update, evidence, its mixtures.

Truncated normal moments: Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions, 2nd ed., section
10.1 (from memory); tests hold them against a general-purpose statistics library.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erf, erfc, exp, inf, log, pi, sqrt

_ROOT2 = sqrt(2.0)
_ROOT2PI = sqrt(2.0 * pi)
_TINY = 1e-280


def distribution(x: float) -> float:
    """Standard normal distribution function."""
    return 0.5 * erfc(-x / _ROOT2)


def density(x: float) -> float:
    """Standard normal density."""
    return exp(-0.5 * x * x) / _ROOT2PI


def truncated(a: float, b: float) -> tuple[float, float, float]:
    """Probability of (a, b] under the standard normal, and mean and variance of a draw from it there."""
    if a > -b:
        probability, mean, variance = _left_heavy(-b, -a)
        return probability, -mean, variance
    return _left_heavy(a, b)


def _left_heavy(a: float, b: float) -> tuple[float, float, float]:
    """The same where a is at least as far out as b: a <= -b."""
    if b - a < 1e-3:
        middle = 0.5 * (a + b)
        return density(middle) * (b - a), middle, (b - a) ** 2 / 12.0
    if b <= 0.0:
        probability = 0.5 * (erfc(-b / _ROOT2) - erfc(-a / _ROOT2))
    else:
        probability = 0.5 * (erf(b / _ROOT2) - erf(a / _ROOT2))
    if probability < _TINY:
        # So far out that all of it is at the nearer edge, with an exponential tail behind.
        slope = -b
        return _TINY, b - 1.0 / slope, 1.0 / (slope * slope)
    below = density(a) if a > -inf else 0.0
    above = density(b) if b < inf else 0.0
    mean = (below - above) / probability
    spread = (a * below if a > -inf else 0.0) - (b * above if b < inf else 0.0)
    return probability, mean, min(1.0, max(1e-12, 1.0 + spread / probability - mean * mean))


Noise = Sequence[tuple[float, float]]
"""A mixture of normals around zero: (share, variance) each; the shares sum to 1."""


def seen(mean: float, variance: float, low: float, high: float, noise: Noise) -> tuple[float, float, float]:
    """Update a normal belief about a mean by one draw around it in (low, high].

    Returns the probability of what was seen, and the mean and variance of the normal that has the moments of
    the belief after it.
    """
    total = first = second = 0.0
    for share, own in noise:
        spread = variance + own
        root = sqrt(spread)
        probability, inside, narrowed = truncated((low - mean) / root, (high - mean) / root)
        moved = mean + variance / root * inside
        left = variance - variance * variance / spread * (1.0 - narrowed)
        weight = share * probability
        total += weight
        first += weight * moved
        second += weight * (left + moved * moved)
    after = first / total
    return total, after, max(1e-12, second / total - after * after)


@dataclass(frozen=True, slots=True)
class Evidence:
    """exp(level + pull x - weight x^2 / 2): evidence about x, a deviation (points)."""

    level: float = 0.0
    pull: float = 0.0
    weight: float = 0.0

    def __add__(self, other: "Evidence") -> "Evidence":
        return Evidence(self.level + other.level, self.pull + other.pull, self.weight + other.weight)

    def __sub__(self, other: "Evidence") -> "Evidence":
        return Evidence(self.level - other.level, self.pull - other.pull, self.weight - other.weight)

    def through(self, sd: float) -> "Evidence":
        """Evidence about the mean that x is normally spread around with this standard deviation."""
        wider = 1.0 + self.weight * sd * sd
        level = self.level - 0.5 * log(wider) + 0.5 * self.pull * self.pull * sd * sd / wider
        return Evidence(level, self.pull / wider, self.weight / wider)

    def belief(self, mean: float, variance: float) -> tuple[float, float]:
        """Mean and variance after this evidence, from a normal belief before it."""
        weight = 1.0 / variance + self.weight
        return (mean / variance + self.pull) / weight, 1.0 / weight


class Mixture:
    """A mixture of normals: (weight, mean, variance) each; the weights need not sum to 1."""

    def __init__(self, parts: Sequence[tuple[float, float, float]]) -> None:
        whole = sum(weight for weight, _, _ in parts)
        self.parts = tuple((weight / whole, mean, sqrt(variance)) for weight, mean, variance in parts)

    def below(self, x: float) -> float:
        """Probability of a value not above x."""
        return sum(weight * distribution((x - mean) / spread) for weight, mean, spread in self.parts)

    def quantile(self, share: float) -> float:
        """Value that a draw stays below with this probability (0 to 1, both out)."""
        low = min(mean - 12.0 * spread for _, mean, spread in self.parts)
        high = max(mean + 12.0 * spread for _, mean, spread in self.parts)
        return _bisect(lambda x: self.below(x) - share, low, high)

    @property
    def mean(self) -> float:
        """Mean of a draw."""
        return sum(weight * mean for weight, mean, _ in self.parts)


def _bisect(rising: Callable[[float], float], low: float, high: float) -> float:
    """Zero of a function that rises from low to high, to a thousandth of a point."""
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def log_or_least(probability: float) -> float:
    """Logarithm of a probability; of the least that is distinguished, where it is 0."""
    return log(max(probability, _TINY))
