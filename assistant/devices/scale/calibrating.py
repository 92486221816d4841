"""Calibrating a scale by spoken steps: an empty plate, then a known weight. Pure; the samples are its clock.

Law: only a steady reading that began after the cook's word counts. Where there is an earlier calibration, the
new reading is compared with it: a weight that was misheard, or a plate that was not empty, is asked about.
"""

from collections import deque
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from statistics import fmean, median
from typing import Literal

from assistant.devices.scale.pouring import EMPTY_G
from assistant.devices.scale.readings import BAND_CAP_G
from assistant.devices.scale.weight import (
    LEAST_COUNTS_PER_GRAM,
    LEAST_MASS_G,
    SATURATED,
    Calibration,
    line_through,
    spread,
)

TAKE_S = 3.0
"""Length of a reading (s)."""
WAIT_S = 12.0
"""This long (s) without a steady reading is reported."""
LAPSE_S = 120.0
"""After this long (s) without a word the calibration is given up."""
FAR = 0.05
"""A factor that differs from the earlier one by more (share) is asked about: a cell hardly changes, but a
number is misheard."""
TREND = 0.5
"""The means of the thirds of a steady reading differ by no more than this share of its spread; of one that
still moves they differ more."""

Prompt = Literal[
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
"""What there is to say at a step; the names are those of the announcements `calibrate_...`."""
LEFT: tuple[Prompt, ...] = ("left", "left_on")
"""It ended without a calibration; the second one where the weight may be on the plate."""


@dataclass(frozen=True, slots=True)
class Guided:
    """The next thing to say."""

    what: Prompt
    grams: float = 0.0
    """The weight, or what the plate carries (g)."""
    was: float = 0.0
    """What the earlier calibration makes of the same weight (g)."""


class CalibrationStep(Enum):
    """What the calibration waits for."""

    EMPTY = "the plate is empty"
    IS_EMPTY = "a yes: it is empty, though by the earlier calibration it is not"
    MASS = "how many grams stand on it"
    IS_MASS = "a yes: the grams are right"


class Guide:
    """Leads through one calibration; a Calibration ends it. Words come in by methods, samples by `feed`."""

    def __init__(self, before: Calibration | None) -> None:
        self.step = CalibrationStep.EMPTY
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
        return self.step in (CalibrationStep.MASS, CalibrationStep.IS_MASS)

    @property
    def emptied(self) -> bool:
        """Whether the plate was called empty: what stands there later may be the weight, not the jug."""
        return self.step is not CalibrationStep.EMPTY or self._taking

    @property
    def zero(self) -> float | None:
        """Counts of the empty plate; None until it is sure that it was empty. A zero for any calibration."""
        return median(self._empty) if self.wants_weight else None

    def prompt(self) -> Guided:
        """Say again what it waits for."""
        self._heard = None
        if self._taking:
            return Guided("hands_off")
        match self.step:
            case CalibrationStep.EMPTY:
                return Guided("empty")
            case CalibrationStep.IS_EMPTY:
                assert self._before is not None
                return Guided("is_empty", abs(self._before.grams(median(self._empty))))
            case CalibrationStep.MASS:
                return Guided("mass")
            case CalibrationStep.IS_MASS:
                read = self._read_g()
                if read is None or abs(read / self._mass_g - 1.0) <= FAR:
                    return Guided("sure", self._mass_g)
                return Guided("differs", self._mass_g, abs(read))

    def left(self) -> Guided:
        """The cook gives it up."""
        return Guided("left_on" if self.emptied else "left")

    def go_on(self) -> Guided:
        """The cook is done: the plate is empty, or the weight whose grams were said before is on it."""
        if self.step is CalibrationStep.EMPTY or (self.step is CalibrationStep.MASS and self._mass_g):
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
        return self._take() if self.step is CalibrationStep.MASS else self._weighed()

    def answer(self, yes: bool) -> Guided | Calibration:
        """The cook says yes or no to what was asked."""
        if self.step is CalibrationStep.IS_EMPTY:
            return self._to(CalibrationStep.MASS if yes else CalibrationStep.EMPTY)
        if self.step is CalibrationStep.IS_MASS:
            if yes:
                return self._line()
            self._mass_g = 0.0
            return self._to(CalibrationStep.MASS)
        return self.go_on() if yes else self.prompt()

    def feed(self, counts: int, now: float) -> Guided | Calibration | None:
        """Take the next sample at `now` (s); returns what it leads to, None for nothing."""
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
        """Whether a reading is steady, as far as its noise lets that be seen."""
        size = len(counts) // 3
        thirds = [fmean(counts[start : start + size]) for start in (0, size, 2 * size)]
        apart = max(abs(after - before) for before, after in pairwise([*thirds, thirds[0]]))
        noise = spread(counts)
        if self._before is not None and noise > BAND_CAP_G * abs(self._before.counts_per_gram):
            return False
        return apart <= max(TREND * noise, 2 * LEAST_COUNTS_PER_GRAM)

    def _taken(self, counts: list[int]) -> Guided | Calibration:
        if self.step is CalibrationStep.MASS:
            self._loaded = counts
            return self._weighed()
        self._empty = counts
        known = self._before is None or abs(self._before.grams(median(counts))) < EMPTY_G
        return self._to(CalibrationStep.MASS if known else CalibrationStep.IS_EMPTY)

    def _weighed(self) -> Guided | Calibration:
        """Check the line through both readings, as `two_points` does, and against the earlier calibration."""
        line, read = self._line(), self._read_g()
        if abs(line.counts_per_gram) < LEAST_COUNTS_PER_GRAM or (read is not None and abs(read) < EMPTY_G):
            self.step = CalibrationStep.MASS
            return Guided("nothing_on")
        if line.noise_g > BAND_CAP_G:
            self.step = CalibrationStep.MASS
            return Guided("unsteady")
        if read is not None and read < 0:
            self.step = CalibrationStep.EMPTY
            return Guided("less")
        sure = read is not None and not self._unsure and abs(read / self._mass_g - 1.0) <= FAR
        return line if sure else self._to(CalibrationStep.IS_MASS)

    def _line(self) -> Calibration:
        return line_through(self._empty, self._loaded, self._mass_g)

    def _read_g(self) -> float | None:
        """What the weight is by the earlier calibration (g); None without one."""
        if self._before is None:
            return None
        return (median(self._loaded) - median(self._empty)) / self._before.counts_per_gram

    def _to(self, step: CalibrationStep) -> Guided:
        self.step = step
        return self.prompt()
