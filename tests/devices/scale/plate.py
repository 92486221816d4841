"""A simulated jug on a load cell: what its converter would read while a cook works next to a motor.

Noise 0.15 g, creep, and a motor at 49 Hz, which folds to 1 Hz at 10 samples a second (sampling theorem). The
figures of noise and creep are common practice, no source.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.devices.scale.weight import Calibration

MOTOR_HZ = 49.0
CREEP = 0.0003
CREEP_S = 120.0


@dataclass
class Plate:
    """Write what happens as stretches; `grams` returns times (s) and readings (g).

    `motor_g`: its amplitude.
    """

    rate: float = 80.0
    noise_g: float = 0.15
    motor_g: float = 0.0
    motor_hz: float = MOTOR_HZ
    seed: int = 1
    zero_g: float = 0.0
    drift_g_per_h: float = 0.0
    at: float = 0.0
    load: float = 0.0
    points: list[tuple[float, float]] = field(default_factory=lambda: [(0.0, 0.0)])
    shakes: list[tuple[float, float, float]] = field(default_factory=list)

    def stay(self, seconds: float) -> "Plate":
        return self.move(self.load, seconds)

    def move(self, grams: float, seconds: float) -> "Plate":
        """Go to this load in a straight line."""
        self.at += seconds
        self.load = grams
        self.points.append((self.at, grams))
        return self

    def lift(self, off_s: float, back: float, *, grip_s: float = 0.4) -> "Plate":
        """A hand grips and lifts; the jug is off for `off_s` (s), then back as `back` (g), with a thump."""
        self.shake(25.0, grip_s + 0.3)
        self.move(self.load + 15.0, grip_s).move(0.0, 0.3).stay(off_s)
        self.shake(30.0, 0.8)
        return self.move(back + 40.0, 0.25).move(back, 0.25)

    def shake(self, grams: float, seconds: float) -> "Plate":
        """The plate shakes from now on by `grams`, for `seconds`."""
        self.shakes.append((self.at, self.at + seconds, grams))
        return self

    def grams(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        random = np.random.default_rng(self.seed)
        times = np.arange(0.0, self.at, 1.0 / self.rate) + random.uniform(0, 0.2 / self.rate)
        at, load = np.array(self.points).T
        found = np.interp(times, at, load)
        for (start, before), (_, after) in pairwise(self.points):
            if abs(after - before) > 50:
                later = times > start
                found[later] += (after - before) * CREEP * (1 - np.exp(-(times[later] - start) / CREEP_S))
        for start, end, size in self.shakes:
            during = (times >= start) & (times < end)
            found[during] += size * np.sin(2 * np.pi * 9.0 * (times[during] - start))
        found += self.motor_g * np.sin(2 * np.pi * self.motor_hz * times + random.uniform(0, 6.28))
        found += random.normal(0, self.noise_g, len(times))
        return times, found + self.zero_g + self.drift_g_per_h / 3600 * times


def counts_of(calibration: Calibration, grams: float) -> int:
    """What the converter reads for a mass (g): the way back through a calibration."""
    return round(calibration.zero + grams * calibration.counts_per_gram)
