"""The evidence of one batch on the hydration that its flour wanted: an interval, from the cook's verdicts.

The *end* of a batch is the least hydration (%) at which its crumb is ready. Nobody sees it; verdicts bound
it: "dry at 30.4" means that the end is above 30.4, "ready at 31" that it is not above 31. The crumb stays
ready for about `WINDOW_PCT` beyond its end: "ready" also means that the end is not lower than that, "wet"
that it is.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

Finding = Literal["dry", "ready", "wet", "doubtful"]
"""What a squeeze says of the end; doubtful: called ready so far outside the marks that it says nothing."""
Squeeze = tuple[Finding, float]
"""What a squeeze found, and the hydration (%) at which it was given."""

WINDOW_PCT = 1.0
"""A crumb is ready for about one top-up of 1 % of the flour (common practice, no source; our assumption).

Where a kitchen's batches say otherwise, they count: see `flour.ready_width`.
"""
NARROWEST_PCT = 0.1
"""No kitchen finds the end of a batch closer than this (points)."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What is known of the end of a batch (% hydration)."""

    low: float
    """The end is above it; minus infinity where nothing bounds it."""
    high: float
    """The end is not above it; infinity where nothing bounds it."""

    def __contains__(self, pct: float) -> bool:
        return self.low < pct <= self.high


def bounds(squeezes: Sequence[Squeeze], window: float = WINDOW_PCT) -> Bounds | None:
    """Bounds on the end of a batch; None where no verdict bounds it.

    Later verdicts count before earlier ones: one that contradicts what was said after it is left out. What
    was poured and never squeezed, nor a batch that was closed without a verdict, is no evidence: nobody felt
    it.
    """
    low, high = -inf, inf
    for found in _each(reversed(squeezes), window):
        tighter_low, tighter_high = max(low, found.low), min(high, found.high)
        if tighter_high - tighter_low >= NARROWEST_PCT:
            low, high = tighter_low, tighter_high
        elif tighter_high >= tighter_low:
            middle = (tighter_low + tighter_high) / 2
            low, high = middle - NARROWEST_PCT / 2, middle + NARROWEST_PCT / 2
    return None if low == -inf and high == inf else Bounds(low, high)


def ready_pct(squeezes: Sequence[Squeeze]) -> float | None:
    """Hydration (%) at which the crumb was called ready, the last time; None where it never was."""
    return next((pct for finding, pct in reversed(squeezes) if finding == "ready"), None)


def _each(squeezes: Iterable[Squeeze], window: float) -> Iterable[Bounds]:
    """Bounds that each verdict sets by itself."""
    for verdict, pct in squeezes:
        match verdict:
            case "dry":
                yield Bounds(pct, inf)
            case "ready":
                yield Bounds(pct - window, pct)
            case "wet":
                yield Bounds(-inf, pct - window)
