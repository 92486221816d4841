"""What tables are made of: groups of results, rates an hour, and the figures that goals are held against."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tests.bench.hearing.hearing import OUTCOMES
from tests.bench.hearing.intervals import Share

T = TypeVar("T")
ALL = "all"


@dataclass(frozen=True)
class Rate:
    """Events in so many hours, with the exact interval at 95 % of a Poisson count (Garwood 1936)."""

    count: int
    hours: float

    @property
    def value(self) -> float:
        """Events an hour."""
        return self.count / self.hours if self.hours else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """Least and most events an hour."""
        if not self.hours:
            return 0.0, math.inf
        low = _solved(lambda mean: 1 - _at_most(self.count - 1, mean), 0.025) if self.count else 0.0
        high = _solved(lambda mean: 1 - _at_most(self.count, mean), 0.975)
        return low / self.hours, high / self.hours

    def __str__(self) -> str:
        low, high = self.interval
        return f"{self.value:.1f} ({low:.1f}-{high:.1f})"


Figures = dict[tuple[str, str], Share | Rate]
"""Ear and what was measured -> the figure."""


def grouped(
    results: Iterable[T], first: Callable[[T], tuple[str, ...]], then: Callable[[T], str]
) -> Iterator[tuple[tuple[str, ...], list[T]]]:
    """Results by the first key, as they come: all of them, then by the second key where that has several."""
    outer: dict[tuple[str, ...], list[T]] = {}
    for one in results:
        outer.setdefault(first(one), []).append(one)
    for key, some in sorted(outer.items(), key=lambda item: item[0][0]):
        yield (*key, ALL), some
        inner: dict[str, list[T]] = {}
        for one in some:
            inner.setdefault(then(one), []).append(one)
        if len(inner) > 1:
            yield from (((*key, name), part) for name, part in sorted(inner.items()))


def share(results: Sequence[T], holds: Callable[[T], bool]) -> Share:
    """Share of the results for which it holds."""
    return Share(sum(holds(one) for one in results), len(results))


def outcomes(results: Sequence[T], outcome: Callable[[T], str]) -> dict[str, Share]:
    """Share of every outcome of the hearing benchmark."""
    found = [outcome(one) for one in results]
    return {kind: Share(found.count(kind), len(found)) for kind in OUTCOMES}


def _at_most(count: int, mean: float) -> float:
    """Probability of at most `count` events."""
    if mean == 0:
        return 1.0
    return sum(math.exp(k * math.log(mean) - mean - math.lgamma(k + 1)) for k in range(count + 1))


def _solved(rising: Callable[[float], float], wanted: float) -> float:
    """Where a function that rises from 0 to 1 reaches a value."""
    low, high = 0.0, 1.0
    while rising(high) < wanted:
        high *= 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return high
