"""The level of a noisy plate, and how noisy the place is: from samples to steady readings. Pure.

A reading is steady when the samples of the last `WINDOW_S`, from the 10th to the 90th percentile, move by no
more than a band. The band is learned from the noise of a plate that nobody touches: a motor next to it makes
the readings coarser, not impossible.
"""

from collections import deque
from itertools import takewhile
from statistics import median

WINDOW_S = 1.5
"""Length of a steady reading (s)."""
LOOK_S = 0.1
"""How often the window is evaluated (s)."""
QUICK_S = 0.3
"""Length of the quick reading (s): short enough to see at once that the jug is off."""
BAND_FLOOR_G, BAND_CAP_G = 4.0, 40.0
"""Least and most that a steady reading may move (g); above the cap the table shakes."""
_LEARNED = 20
_TREND = 10


class Readings:
    """Evaluates the samples of one plate.

    Levels are grams above `zero_g`; samples are kept for `keep_s` (s).
    """

    def __init__(self, *, zero_g: float, keep_s: float) -> None:
        self.zero_g = zero_g
        self.quick_g = 0.0
        """Median of the last `QUICK_S` (g), steady or not."""
        self.level_g: float | None = None
        """What the plate carries now (g); None while it is not steady."""
        self.drifting = False
        """Whether the level moves more than noise explains: the jug is being filled, which is not shaking."""
        self._keep_s = keep_s
        self._samples: deque[tuple[float, float]] = deque()
        self._evaluated = float("-inf")
        self._spreads: deque[float] = deque(maxlen=_LEARNED)
        self._middles: deque[float] = deque(maxlen=_TREND)

    @property
    def band_g(self) -> float:
        """How much a steady reading may move (g)."""
        noise = median(self._spreads) if self._spreads else 0.0
        return min(BAND_CAP_G, max(BAND_FLOOR_G, 2.0 * noise))

    def feed(self, grams: float, now: float) -> bool:
        """Take the next sample (g) at `now` (s); True when the readings were evaluated again."""
        self._samples.append((now, grams))
        while self._samples[0][0] < now - self._keep_s:
            self._samples.popleft()
        if now - self._evaluated < LOOK_S - 1e-6:
            return False
        self._evaluated = now
        if now - self._samples[0][0] < WINDOW_S * 0.9:
            return False
        self._evaluate(now)
        return True

    def since(self, begin: float) -> list[tuple[float, float]]:
        """Samples (s, g) after `begin` (s), in order, the zero not subtracted."""
        return [*takewhile(lambda sample: sample[0] > begin, reversed(self._samples))][::-1]

    def move_zero(self, by: float) -> None:
        """Call the level `by` (g) zero from now on."""
        self.zero_g += by
        self._middles.clear()
        self.level_g = 0.0 if self.level_g is not None else None

    def _evaluate(self, now: float) -> None:
        window = sorted(grams for _, grams in self.since(now - WINDOW_S))
        last = len(window) - 1
        moved = window[round(0.9 * last)] - window[round(0.1 * last)]
        middle = _middle(window) - self.zero_g
        self._middles.append(middle)
        trend = max(self._middles) - min(self._middles)
        untouched = len(self._middles) == _TREND and trend <= max(BAND_FLOOR_G, moved / 2)
        if untouched:
            self._spreads.append(moved)
        self.drifting = not untouched and trend > moved / 2
        self.quick_g = median([grams for _, grams in self.since(now - QUICK_S)]) - self.zero_g
        self.level_g = middle if moved <= self.band_g else None


def _middle(ranked: list[float]) -> float:
    """Mean between the 10th and the 90th percentile: a spike does not move it, and noise cancels."""
    cut = len(ranked) // 10
    kept = ranked[cut : len(ranked) - cut]
    return sum(kept) / len(kept)
