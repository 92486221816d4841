"""Calibrating a scale while somebody is led aloud: an empty plate, then a known weight. Pure; the samples are its clock.

Law: nothing is taken but a steady reading that began after the word. What the weight moved is held against the
calibration before, where there is one: a weight that was misheard, or an empty plate that was none, is asked about.
"""

from collections import deque
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from statistics import fmean, median
from typing import Literal

from assistant.devices.scale.pouring import BAND_CAP_G, EMPTY_G
from assistant.devices.scale.weight import (
    LEAST_COUNTS_PER_GRAM,
    LEAST_MASS_G,
    SATURATED,
    Calibration,
    line_through,
    spread,
)

TAKE_S = 3.0
"""A reading is made of so much (s)."""
WAIT_S = 12.0
"""So long (s) without a steady reading is told."""
LAPSE_S = 120.0
"""So long (s) without a word, and the calibration is left."""
FAR = 0.05
"""A factor so far (share) from the one before is asked about: a cell's own hardly moves, but a number is misheard."""
TREND = 0.5
"""The thirds of a steady reading lie no further apart than this share of its spread: one that still moves passes it."""

Told = Literal[
    "empty",
    "hands_off",
    "is_empty",
    "mass",
    "sure",
    "differs",
    "least",
    "less",
    "nothing_on",
    "range",
    "unsteady",
    "left",
    "left_on",
]
LEFT: tuple[Told, ...] = ("left", "left_on")
"""It ended without a calibration; the second, where the weight may be on the plate."""


@dataclass(frozen=True, slots=True)
class Guided:
    """The next thing to say. `grams`: of the weight, or what the plate carries; `was`: by the calibration before."""

    what: Told
    grams: float = 0.0
    was: float = 0.0


class Step(Enum):
    """What is waited for."""

    EMPTY = "the plate is empty"
    IS_EMPTY = "a yes: it is empty, though by the calibration before it is not"
    MASS = "how many grams stand on it"
    IS_MASS = "a yes: it is so many grams"


class Guide:
    """Leads through one calibration. Words come in by its methods, samples by `feed`; a Calibration ends it."""

    def __init__(self, before: Calibration | None) -> None:
        self.step = Step.EMPTY
        self._before = before
        self._empty: list[int] = []
        self._loaded: list[int] = []
        self._mass_g = 0.0
        self._unsure = False
        self._taking = False
        self._since: float | None = None
        self._heard: float | None = None
        self._window: deque[tuple[float, int]] = deque()

    @property
    def wants_weight(self) -> bool:
        """Whether a bare amount would be an answer."""
        return self.step in (Step.MASS, Step.IS_MASS)

    @property
    def emptied(self) -> bool:
        """Whether the plate was called empty: what stands there later may be the weight, and no jug."""
        return self.step is not Step.EMPTY or self._taking

    @property
    def zero(self) -> float | None:
        """Counts of the plate that was empty; None until that is sure. It is a zero for any calibration."""
        return median(self._empty) if self.wants_weight else None

    def prompt(self) -> Guided:
        """What is waited for."""
        self._heard = None
        if self._taking:
            return Guided("hands_off")
        match self.step:
            case Step.EMPTY:
                return Guided("empty")
            case Step.IS_EMPTY:
                assert self._before is not None
                return Guided("is_empty", abs(self._before.grams(median(self._empty))))
            case Step.MASS:
                return Guided("mass")
            case Step.IS_MASS:
                read = self._read_g()
                if read is None or abs(read / self._mass_g - 1.0) <= FAR:
                    return Guided("sure", self._mass_g)
                return Guided("differs", self._mass_g, abs(read))

    def left(self) -> Guided:
        """It is given up."""
        return Guided("left_on" if self.emptied else "left")

    def go_on(self) -> Guided:
        """The cook is done: the plate is empty, or the weight rests whose grams were said before."""
        if self.step is Step.EMPTY or (self.step is Step.MASS and self._mass_g):
            return self._take()
        return self.prompt()

    def weight(self, grams: float, *, unsure: bool) -> Guided | Calibration:
        """The cook says what stands on the plate (g)."""
        if not self.wants_weight:
            return self.prompt()
        if grams < LEAST_MASS_G:
            self._heard = None
            return Guided("least", LEAST_MASS_G)
        self._mass_g, self._unsure = grams, unsure
        return self._take() if self.step is Step.MASS else self._weighed()

    def answer(self, yes: bool) -> Guided | Calibration:
        """Yes or no to what was asked."""
        if self.step is Step.IS_EMPTY:
            return self._to(Step.MASS if yes else Step.EMPTY)
        if self.step is Step.IS_MASS:
            if yes:
                return self._line()
            self._mass_g = 0.0
            return self._to(Step.MASS)
        return self.go_on() if yes else self.prompt()

    def feed(self, counts: int, now: float) -> Guided | Calibration | None:
        """The next sample at `now` (s)."""
        self._heard = now if self._heard is None else self._heard
        if now - self._heard >= LAPSE_S:
            return self.left()
        if not self._taking:
            return None
        self._since = now if self._since is None else self._since
        self._window.append((now, counts))
        if now - self._window[0][0] < TAKE_S:
            return None
        taken = [counts for _, counts in self._window]
        while now - self._window[0][0] >= TAKE_S:
            self._window.popleft()
        if any(one in SATURATED for one in taken):
            self._taking = False
            return Guided("range")
        if self._steady(taken):
            self._taking = False
            return self._taken(taken)
        if now - self._since < WAIT_S:
            return None
        self._taking = False
        return Guided("unsteady")

    def _take(self) -> Guided:
        self._taking, self._since, self._heard = True, None, None
        self._window.clear()
        return Guided("hands_off")

    def _steady(self, counts: list[int]) -> bool:
        """Whether a reading rests, as far as its noise lets that be seen."""
        size = len(counts) // 3
        thirds = [fmean(counts[start : start + size]) for start in (0, size, 2 * size)]
        apart = max(abs(after - before) for before, after in pairwise([*thirds, thirds[0]]))
        noise = spread(counts)
        if self._before is not None and noise > BAND_CAP_G * abs(self._before.counts_per_gram):
            return False
        return apart <= max(TREND * noise, 2 * LEAST_COUNTS_PER_GRAM)

    def _taken(self, counts: list[int]) -> Guided | Calibration:
        if self.step is Step.MASS:
            self._loaded = counts
            return self._weighed()
        self._empty = counts
        known = self._before is None or abs(self._before.grams(median(counts))) < EMPTY_G
        return self._to(Step.MASS if known else Step.IS_EMPTY)

    def _weighed(self) -> Guided | Calibration:
        """Hold the line through both readings against what can be, as `two_points` does, and against the one before."""
        line, read = self._line(), self._read_g()
        if abs(line.counts_per_gram) < LEAST_COUNTS_PER_GRAM or (read is not None and abs(read) < EMPTY_G):
            self.step = Step.MASS
            return Guided("nothing_on")
        if line.noise_g > BAND_CAP_G:
            self.step = Step.MASS
            return Guided("unsteady")
        if read is not None and read < 0:
            self.step = Step.EMPTY
            return Guided("less")
        sure = read is not None and not self._unsure and abs(read / self._mass_g - 1.0) <= FAR
        return line if sure else self._to(Step.IS_MASS)

    def _line(self) -> Calibration:
        return line_through(self._empty, self._loaded, self._mass_g)

    def _read_g(self) -> float | None:
        """What the weight is by the calibration before (g); None without one."""
        if self._before is None:
            return None
        return (median(self._loaded) - median(self._empty)) / self._before.counts_per_gram

    def _to(self, step: Step) -> Guided:
        self.step = step
        return self.prompt()
