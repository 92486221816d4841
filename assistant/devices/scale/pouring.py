"""What happened to the jug, from grams over time: lifted, poured, put back. Pure; time is an argument.

Law: no pour without a lift. A change while the jug stands is reported, never logged: it may be a tap, a leak,
a hand.

A pour is what stood on the plate before the lift less what stands there after it. Both are steady readings
(`readings`) of a jug at rest (`standstill`).
"""

from dataclasses import dataclass
from enum import Enum

from assistant.devices.scale.readings import BAND_FLOOR_G, WINDOW_S, Readings
from assistant.devices.scale.standstill import Standstill, resting

EMPTY_G = 60.0
"""A plate that carries less than this (g) has no jug on it."""
LEAST_POUR_G = 8.0
"""A smaller change (g) is not a pour but the scale's own error."""
QUIET_HOLD_S, NOISY_HOLD_S = 0.4, 1.5
"""A jug that is back is read after it was steady this long (s), without and with a motor."""
ODD_S = 0.5
"""Another level that lasts this long (s) is not a lift in its first moment."""
TOUCH_S = 10.0
"""A pour within this time (s) after something pressed on the standing jug is asked about."""
UNSTEADY_S = 5.0
"""This long (s) without a steady reading is reported."""
ALONE_G = 150.0
"""A standing jug that loses this much (g) at once did not drip: something else stood next to it."""


class PlateState(Enum):
    """What the plate carries."""

    EMPTY = "nothing yet"
    STANDING = "the jug stands"
    LIFTED = "the jug is off"


@dataclass(frozen=True, slots=True)
class Pour:
    """Water was poured."""

    grams: float
    sure: bool = True
    """Whether nothing else touched the jug."""


@dataclass(frozen=True, slots=True)
class Refill:
    """Water came into the jug."""

    grams: float


@dataclass(frozen=True, slots=True)
class Dripped:
    """The standing jug lost water: it leaks, or somebody drew from it."""

    grams: float


@dataclass(frozen=True, slots=True)
class NotAlone:
    """Something next to the jug was taken from the plate: what is poured now can't be known."""


@dataclass(frozen=True, slots=True)
class Unsteady:
    """No steady reading for a while."""


@dataclass(frozen=True, slots=True)
class Drifted:
    """The empty plate did not read zero; the zero was moved."""

    grams: float
    """What the empty plate read."""


Happening = Pour | Refill | Dripped | NotAlone | Unsteady | Drifted


class Jug:
    """Follows one jug on one plate. `feed` every sample in order."""

    def __init__(self, *, zero_g: float = 0.0) -> None:
        self.state = PlateState.EMPTY
        self._readings = Readings(zero_g=zero_g, keep_s=WINDOW_S + NOISY_HOLD_S)
        self._reference = 0.0
        self._anchor = 0.0
        self._standstill = Standstill()
        self._untouched: float | None = None
        self._touched = float("-inf")
        self._odd_since: float | None = None
        self._last_steady = 0.0
        self._reported_unsteady = False
        self._settled: float | None = None
        self._lifted_sure = True

    @property
    def zero_g(self) -> float:
        """What the empty plate reads (g)."""
        return self._readings.zero_g

    @property
    def level_g(self) -> float | None:
        """What the plate carries now (g); None while it is not steady."""
        return self._readings.level_g

    @property
    def band_g(self) -> float:
        """How much a steady reading may move (g)."""
        return self._readings.band_g

    def tare(self) -> float | None:
        """Call the present reading zero.

        Returns what it was (g), or None where a jug is on the plate or the reading is not steady.
        """
        level = self.level_g
        return None if level is None or abs(level) >= EMPTY_G else self._move_zero(level)

    def feed(self, grams: float, now: float) -> list[Happening]:
        """Take the next sample (g) at `now` (s); returns what happened."""
        if not self._readings.feed(grams, now):
            return []
        if self._readings.drifting:
            self._last_steady = now
        return self._look(now, self._readings.quick_g)

    def _look(self, now: float, quick: float) -> list[Happening]:
        match self.state:
            case PlateState.EMPTY:
                if quick < EMPTY_G:
                    self._settled = None
                elif (level := self._settled_level(now)) is not None and level >= EMPTY_G:
                    self._stand(level, now)
                return []
            case PlateState.STANDING:
                return self._lift(now) if quick < EMPTY_G else self._standing(now)
            case PlateState.LIFTED:
                return self._off(now) if quick < EMPTY_G else self._put_back(now)

    # --- the jug stands

    def _stand(self, level: float, now: float) -> None:
        self.state = PlateState.STANDING
        self._reference = self._anchor = level
        self._standstill.begin(level, now)
        self._untouched = self._odd_since = None
        self._last_steady, self._reported_unsteady = now, False

    def _standing(self, now: float) -> list[Happening]:
        level = self.level_g
        if level is None:
            return self._unsteady(now)
        self._last_steady, self._reported_unsteady = now, False
        change = level - self._reference
        if abs(change) > max(LEAST_POUR_G, self.band_g / 2):
            self._odd_since = now if self._odd_since is None else self._odd_since
            return self._changed(change, now) if now - self._odd_since >= ODD_S else []
        self._odd_since = None
        self._reference += 0.1 * change
        self._standstill.keep(self._readings.since, self._reference, now)
        if (lost := self._anchor - self._reference) >= LEAST_POUR_G:
            self._anchor = self._reference
            return [Dripped(lost)]
        self._anchor = max(self._anchor, self._reference)
        return []

    def _changed(self, change: float, now: float) -> list[Happening]:
        """Another level, without a lift: a hand, a tap, a second thing."""
        level, before = self._reference + change, self._untouched
        last = self._anchor
        self._stand(level, now)
        if change > 0:
            self._untouched, self._touched = before if before is not None else last, now
            return []
        if before is not None and abs(level - before) <= max(LEAST_POUR_G, self.band_g):
            self._touched = float("-inf")  # what pressed on it is gone, and nothing is missing
            return []
        return [NotAlone()] if -change >= ALONE_G else [Dripped(-change)]

    def _unsteady(self, now: float) -> list[Happening]:
        if now - self._last_steady < UNSTEADY_S or self._reported_unsteady:
            return []
        self._reported_unsteady = True
        return [Unsteady()]

    # --- the jug is off

    def _lift(self, now: float) -> list[Happening]:
        self.state = PlateState.LIFTED
        self._reference = self._standstill.level_g(self.zero_g)
        self._lifted_sure = now - self._touched > TOUCH_S
        self._settled = None
        self._last_steady, self._reported_unsteady = now, False
        return []

    def _off(self, now: float) -> list[Happening]:
        """The plate is empty: the chance to find its zero."""
        self._last_steady, self._settled = now, None
        level = self.level_g
        return [] if level is None or abs(level) < 0.5 else [Drifted(self._move_zero(level))]

    def _put_back(self, now: float) -> list[Happening]:
        if self.level_g is None:
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
        if self.level_g is None:
            self._settled = None
            return None
        if self._settled is None:
            self._settled = now
        if now - self._settled < (NOISY_HOLD_S if self.band_g > BAND_FLOOR_G else QUIET_HOLD_S):
            return None
        return resting(self._readings.since(self._settled - WINDOW_S + QUIET_HOLD_S)) - self.zero_g

    def _move_zero(self, by: float) -> float:
        """Call `by` (g) zero; what was weighed before moves with it. Returns `by`."""
        self._readings.move_zero(by)
        self._reference -= by
        self._anchor -= by
        return by
