"""What happened to the jug, from grams over time: lifted, poured, put back. Pure; time is an argument.

Law: no pour without a lift. What changes while the jug stands is told, never logged: it may be a tap, a leak, a hand.

A reading counts where it is steady: from the 10th to the 90th percentile of the last `WINDOW_S` it moves by no more
than a band, and the band is learned from the noise of the standing jug, so that a motor beside it only makes the
readings coarser. A pour is what stood there before the lift less what stands there after it, both at rest (`standstill`).
"""

from collections import deque
from dataclasses import dataclass
from enum import Enum
from itertools import takewhile
from statistics import median

from assistant.devices.scale.standstill import SPAN_S, resting

WINDOW_S = 1.5
"""What a steady reading is made of (s)."""
LOOK_S = 0.1
"""How often the window is looked at (s)."""
QUICK_S = 0.3
"""A jug that is gone so long is lifted (s)."""
GRIP_S = 0.7
"""The hand is on the handle so long before the jug is off (s): what was weighed then does not count."""
BAND_FLOOR_G, BAND_CAP_G = 4.0, 40.0
"""Least and most that a steady reading may move (g); above the cap the table shakes."""
EMPTY_G = 60.0
"""Less than this on the plate is no jug (g)."""
LEAST_POUR_G = 8.0
"""Less than this is no pour but the scale's own error (g)."""
QUIET_HOLD_S, NOISY_HOLD_S = 0.4, 1.5
"""A jug that is back is read after it was steady for so long (s), without and beside a motor."""
LEAST_REST_S = 2.0
"""A shorter standstill (s) tells less than what was weighed when the jug came back."""
ODD_S = 0.5
"""Another level that lasts so long (s) is no lift in its first moment."""
TOUCH_S = 10.0
"""A pour so soon (s) after something pressed on the standing jug is asked about."""
UNSTEADY_S = 5.0
"""So long without a steady reading (s) is told."""
ALONE_G = 150.0
"""A standing jug that loses so much at once did not drip: something else stood beside it (g)."""
_LEARNED = 20
_TREND = 10


class Phase(Enum):
    """What the plate carries."""

    EMPTY = "nothing yet"
    STANDING = "the jug stands"
    LIFTED = "the jug is off"


@dataclass(frozen=True, slots=True)
class Pour:
    """So much (g) was poured. `sure`: nothing else touched the jug."""

    grams: float
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Refill:
    """So much (g) came into the jug."""

    grams: float


@dataclass(frozen=True, slots=True)
class Dripped:
    """The standing jug lost so much (g): it leaks, or somebody drew from it."""

    grams: float


@dataclass(frozen=True, slots=True)
class NotAlone:
    """Something was taken from the plate beside the jug: what is poured now can't be told."""


@dataclass(frozen=True, slots=True)
class Unsteady:
    """No steady reading for a while."""


@dataclass(frozen=True, slots=True)
class Drifted:
    """The empty plate read so much (g): the zero was moved there."""

    grams: float


Happening = Pour | Refill | Dripped | NotAlone | Unsteady | Drifted


class Jug:
    """Follows one jug on one plate. `feed` every sample in order."""

    def __init__(self) -> None:
        self.phase = Phase.EMPTY
        self.zero_g = 0.0
        self._samples: deque[tuple[float, float]] = deque()
        self._looked = float("-inf")
        self._spreads: deque[float] = deque(maxlen=_LEARNED)
        self._middles: deque[float] = deque(maxlen=_TREND)
        self._reference = 0.0
        self._anchor = 0.0
        self._past: deque[tuple[float, float]] = deque()
        self._rest: deque[tuple[float, float]] = deque()
        self._untouched: float | None = None
        self._touched = float("-inf")
        self._odd_since: float | None = None
        self._restless = 0.0
        self._told_unsteady = False
        self._level: float | None = None
        self._settled: float | None = None
        self._lifted_sure = True

    @property
    def level_g(self) -> float | None:
        """What the plate carries (g) now; None while it is not steady."""
        return self._level

    @property
    def band_g(self) -> float:
        """How much a steady reading may move (g)."""
        noise = median(self._spreads) if self._spreads else 0.0
        return min(BAND_CAP_G, max(BAND_FLOOR_G, 2.0 * noise))

    def tare(self) -> float | None:
        """Call what is read now zero; gives what it was (g), or None where a jug is on it or it is not steady."""
        if self._level is None or abs(self._level) >= EMPTY_G:
            return None
        was = self._level
        self._move_zero(was)
        return was

    def feed(self, grams: float, now: float) -> list[Happening]:
        """The next sample (g) at `now` (s); gives what happened."""
        self._samples.append((now, grams))
        while self._samples[0][0] < now - WINDOW_S - NOISY_HOLD_S:
            self._samples.popleft()
        if now - self._looked < LOOK_S - 1e-6:
            return []
        self._looked = now
        if now - self._samples[0][0] < WINDOW_S * 0.9:
            return []
        window = sorted(grams for _, grams in self._since(now - WINDOW_S))
        last = len(window) - 1
        moved = window[round(0.9 * last)] - window[round(0.1 * last)]
        quick = median([grams for _, grams in self._since(now - QUICK_S)]) - self.zero_g
        middle = _middle(window) - self.zero_g
        self._middles.append(middle)
        trend = max(self._middles) - min(self._middles)
        if len(self._middles) == _TREND and trend <= max(BAND_FLOOR_G, moved / 2):
            self._spreads.append(moved)  # noise of the place, learned while nothing is done to the jug
        elif trend > moved / 2:
            self._restless = now  # it is being filled, which is no shaking
        self._level = middle if moved <= self.band_g else None
        return self._look(now, quick)

    def _since(self, begin: float) -> list[tuple[float, float]]:
        """Samples after `begin` (s), in order."""
        return [*takewhile(lambda sample: sample[0] > begin, reversed(self._samples))][::-1]

    def _look(self, now: float, quick: float) -> list[Happening]:
        match self.phase:
            case Phase.EMPTY:
                if quick < EMPTY_G:
                    self._settled = None
                elif (level := self._settled_level(now)) is not None and level >= EMPTY_G:
                    self._stand(level, now)
                return []
            case Phase.STANDING:
                if quick < EMPTY_G:
                    return self._lift(now)
                return self._standing(now)
            case Phase.LIFTED:
                if quick < EMPTY_G:
                    return self._off()
                return self._put_back(now)

    # --- the jug stands

    def _stand(self, level: float, now: float) -> None:
        self.phase = Phase.STANDING
        self._reference = self._anchor = level
        self._rest.clear()
        self._past.clear()
        self._past.append((now, level))
        self._untouched = self._odd_since = None
        self._restless = now
        self._told_unsteady = False

    def _standing(self, now: float) -> list[Happening]:
        if self._level is None:
            return self._unsteady(now)
        self._restless, self._told_unsteady = now, False
        change = self._level - self._reference
        if abs(change) > max(LEAST_POUR_G, self.band_g / 2):
            self._odd_since = now if self._odd_since is None else self._odd_since
            return self._changed(change, now) if now - self._odd_since >= ODD_S else []
        self._odd_since = None
        self._reference += 0.1 * change
        self._keep_rest(now)
        if (lost := self._anchor - self._reference) >= LEAST_POUR_G:
            self._anchor = self._reference
            return [Dripped(lost)]
        self._anchor = max(self._anchor, self._reference)
        return []

    def _keep_rest(self, now: float) -> None:
        """The samples of the standstill, as far back as it counts; a gap in it begins it anew."""
        last = self._rest[-1][0] if self._rest else float("-inf")
        if now - last > WINDOW_S:
            self._rest.clear()
        self._rest.extend(self._since(max(last, now - WINDOW_S)))
        while self._rest[0][0] < now - SPAN_S - GRIP_S:
            self._rest.popleft()
        self._past.append((now, self._reference))
        while len(self._past) > 1 and self._past[1][0] <= now - GRIP_S:
            self._past.popleft()

    def _changed(self, change: float, now: float) -> list[Happening]:
        """Another level, without a lift: a hand, a tap, a second thing."""
        level, before = self._reference + change, self._untouched
        last = self._anchor
        restless, told = self._restless, self._told_unsteady
        self._stand(level, now)
        self._restless, self._told_unsteady = restless, told
        if change > 0:
            self._untouched, self._touched = before if before is not None else last, now
            return []
        if before is not None and abs(level - before) <= max(LEAST_POUR_G, self.band_g):
            self._touched = float("-inf")  # what pressed on it is gone, and nothing is missing
            return []
        return [NotAlone()] if -change >= ALONE_G else [Dripped(-change)]

    def _unsteady(self, now: float) -> list[Happening]:
        if now - self._restless < UNSTEADY_S or self._told_unsteady:
            return []
        self._told_unsteady = True
        return [Unsteady()]

    # --- the jug is off

    def _lift(self, now: float) -> list[Happening]:
        self.phase = Phase.LIFTED
        end = self._rest[-1][0] - GRIP_S if self._rest else now
        stood = [*takewhile(lambda sample: sample[0] <= end, self._rest)]
        long_enough = stood and stood[-1][0] - stood[0][0] >= LEAST_REST_S
        self._reference = resting(stood) - self.zero_g if long_enough else self._past[0][1]
        self._lifted_sure = now - self._touched > TOUCH_S
        self._settled = None
        self._restless, self._told_unsteady = now, False
        return []

    def _off(self) -> list[Happening]:
        """The plate is empty: the chance to find its zero."""
        self._restless, self._settled = self._looked, None
        if self._level is None or abs(self._level) < 0.5:
            return []
        return [Drifted(self._move_zero(self._level))]

    def _put_back(self, now: float) -> list[Happening]:
        if self._level is None:
            self._settled = None
            return self._unsteady(now)
        level = self._settled_level(now)
        if level is None:
            return []
        poured, sure = self._reference - level, self._lifted_sure
        self._stand(level, now)
        self._touched = float("-inf")
        if poured >= LEAST_POUR_G:
            return [Pour(poured, sure)]
        return [Refill(-poured)] if poured <= -LEAST_POUR_G else []

    def _settled_level(self, now: float) -> float | None:
        """What was put on the plate (g), once it was steady for long enough; the thump of it is left out."""
        if self._level is None:
            self._settled = None
            return None
        if self._settled is None:
            self._settled = now
        if now - self._settled < (NOISY_HOLD_S if self.band_g > BAND_FLOOR_G else QUIET_HOLD_S):
            return None
        return resting(self._since(self._settled - WINDOW_S + QUIET_HOLD_S)) - self.zero_g

    def _move_zero(self, by: float) -> float:
        """Call `by` (g) zero; what was weighed before is moved with it."""
        self.zero_g += by
        self._reference -= by
        self._anchor -= by
        self._middles.clear()
        self._level = 0.0 if self._level is not None else None
        return by


def _middle(ranked: list[float]) -> float:
    """Mean of what lies between the 10th and the 90th percentile: a spike does not move it, and noise cancels."""
    cut = len(ranked) // 10
    kept = ranked[cut : len(ranked) - cut]
    return sum(kept) / len(kept)
