"""Shares with their uncertainty."""

import math
from dataclasses import dataclass

Z_95 = 1.959964


@dataclass(frozen=True)
class Share:
    """`hits` of `n`, with the Wilson score interval at 95 % (Wilson 1927)."""

    hits: int
    n: int

    @property
    def value(self) -> float:
        return self.hits / self.n if self.n else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        if not self.n:
            return 0.0, 1.0
        z2, p = Z_95**2, self.value
        middle = (p + z2 / (2 * self.n)) / (1 + z2 / self.n)
        half = Z_95 / (1 + z2 / self.n) * math.sqrt(p * (1 - p) / self.n + z2 / (4 * self.n**2))
        return max(0.0, middle - half), min(1.0, middle + half)

    def __str__(self) -> str:
        low, high = self.interval
        return f"{100 * self.value:.1f} ({100 * low:.1f}-{100 * high:.1f})"
