"""A year of pours on a made-up scale, against what was poured.

    python -m tests.bench.pours [--reference ruptures]

250 days, four batches a day, four pours a batch, 15 to 500 g, beside a motor or not, at 10 and 80 samples a
second, and beside motors that fold to slower and faster swells than the usual one; between the pours what a
kitchen does to a jug: it is bumped, leant on, refilled, lifted without a pour, left to drip. The reference is
a change-point library that sees each recording as a whole, afterwards (PELT, least squares): Truong, Oudre,
Vayatis, Signal Processing 167:107299, 2020. It is not a part of the project; without it the row is left out.
"""

import importlib
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from assistant.devices.scale.pouring import Drifted, Jug, Pour
from tests.devices.scale.plate import MOTOR_HZ, Plate

BATCHES = 1000
POURS = 4
JUG_G = 600.0
FOLDED = ((10.0, 48.4), (10.0, 49.3), (10.0, 49.5), (10.0, 49.7), (10.0, 49.9), (80.0, 49.7), (80.0, 79.7))
"""Samples a second, and motors (Hz) that fold to fast and to slow swells at them."""


@dataclass
class Tally:
    """What was found of what was poured."""

    poured: int = 0
    missed: int = 0
    phantom: int = 0
    unsure: int = 0
    errors: list[float] = field(default_factory=list)

    def row(self, name: str) -> str:
        size = np.abs(self.errors) if self.errors else np.array([np.nan])
        return (
            f"| {name} | {self.poured} | {self.missed} | {self.phantom} | {self.unsure} "
            f"| {np.median(size):.2f} | {np.percentile(size, 95):.2f} | {size.max():.2f} |"
        )


def batch(
    random: Random, rate: float, motor_g: float, seed: int, motor_hz: float = MOTOR_HZ
) -> tuple[Plate, list[tuple[float, float]]]:
    """A batch on the scale, and its pours: when the jug came back (s), and how much went out (g)."""
    left = random.uniform(1200, 2600)
    plate = Plate(
        rate,
        motor_g=motor_g,
        motor_hz=motor_hz,
        seed=seed,
        zero_g=random.uniform(-20, 20),
        drift_g_per_h=random.uniform(-10, 10),
    )
    plate.load, plate.points = left, [(0.0, left)]
    plate.stay(random.uniform(4, 7))
    pours = []
    for _ in range(POURS):
        left = disturb(random, plate, left)
        grams = random.choice((random.uniform(15, 60), random.uniform(60, 500)))
        if left - grams < JUG_G:
            left += 1500
            plate.lift(random.uniform(5, 9), left).stay(5)
        left -= grams
        plate.lift(random.uniform(1.5, 8), left, grip_s=random.uniform(0.2, 0.8))
        pours.append((plate.at, grams))
        plate.stay(random.uniform(4, 8))
    return plate, pours


def disturb(random: Random, plate: Plate, left: float) -> float:
    """What a kitchen does to a jug between two pours; returns what it holds then (g)."""
    match random.randrange(8):
        case 0:
            plate.shake(random.uniform(10, 80), random.uniform(0.2, 1.0)).stay(4)
        case 1:
            plate.move(left + random.uniform(30, 400), 0.3).stay(random.uniform(0.3, 4)).move(left, 0.3)
            plate.stay(12)
        case 2:
            plate.lift(random.uniform(1, 4), left).stay(5)
        case 3:
            left += random.uniform(100, 600)
            plate.lift(random.uniform(4, 8), left).stay(5)
        case 4:
            left -= random.uniform(1, 6)
            plate.move(left, random.uniform(5, 20)).stay(3)
        case _:
            plate.stay(random.uniform(0, 6))
    return left


def held_against(found: list[tuple[float, Pour]], pours: list[tuple[float, float]], tally: Tally) -> None:
    """Count what was found of the pours of one batch."""
    tally.poured += len(pours)
    waiting = list(found)
    for back, grams in pours:
        mine = [one for one in waiting if back <= one[0] + 0.01 and one[0] < back + 6]
        if not mine:
            tally.missed += 1
            continue
        waiting.remove(mine[0])
        tally.unsure += not mine[0][1].sure
        tally.errors.append(mine[0][1].grams - grams)
    tally.phantom += len(waiting)


def batches(
    rate: float, motor_g: float, count: int, motor_hz: float = MOTOR_HZ
) -> Iterator[tuple[Plate, list[tuple[float, float]]]]:
    random = Random(f"{rate} {motor_g}")
    for number in range(count):
        yield batch(random, rate, motor_g, number, motor_hz)


def year(rate: float, motor_g: float, count: int = BATCHES, motor_hz: float = MOTOR_HZ) -> Tally:
    """Pours of a year as the program finds them."""
    tally = Tally()
    for plate, pours in batches(rate, motor_g, count, motor_hz):
        jug, found = Jug(), list[tuple[float, Pour]]()
        for at, grams in zip(*plate.grams(), strict=True):
            for one in jug.feed(float(grams), float(at)):
                if isinstance(one, Pour) and not isinstance(one, Drifted):
                    found.append((float(at), one))
        held_against(found, pours, tally)
    return tally


def by_reference(library: ModuleType, rate: float, motor_g: float, count: int = 50) -> Tally:
    """The same by change points, found afterwards in the whole recording."""
    tally = Tally()
    for plate, pours in batches(rate, motor_g, count):
        times, grams = plate.grams()
        found = [(at, Pour(size)) for at, size in change_points(library, times, grams)]
        held_against([one for one in found if one[1].grams >= 8], pours, tally)
    return tally


def change_points(
    library: ModuleType, times: NDArray[np.float64], grams: NDArray[np.float64]
) -> Iterator[tuple[float, float]]:
    """Levels before and after each stretch without a jug: when it was back (s), how much was missing (g)."""
    step = max(1, len(times) // int(times[-1] * 10))
    times, grams = times[::step], grams[::step]
    ends = library.Pelt(model="l2", min_size=5, jump=1).fit(grams.reshape(-1, 1)).predict(pen=4000.0)
    before, off = None, False
    for start, end in zip([0, *ends[:-1]], ends, strict=True):
        level, lasts = float(np.median(grams[start:end])), times[end - 1] - times[start]
        if level < 60 + 30:
            off = True
        elif lasts >= 1.4:
            if off and before is not None:
                yield float(times[start]) + 0.5, before - level
            before, off = level, False


def main() -> None:
    print("| scale | pours | missed | phantom | asked about | error, median g | p95 g | most g |")
    print("|---|---|---|---|---|---|---|---|")
    for rate in (10.0, 80.0):
        for motor_g in (0.0, 3.0, 8.0):
            name = f"{rate:g} a second, " + (f"motor of {motor_g:g} g" if motor_g else "no motor")
            print(year(rate, motor_g).row(name), flush=True)
    for rate, motor_hz in FOLDED:
        swell = abs(motor_hz - rate * round(motor_hz / rate))
        name = f"{rate:g} a second, motor of 8 g at {motor_hz:g} Hz: a swell of {swell:.1f} Hz"
        print(year(rate, 8.0, BATCHES // 4, motor_hz).row(name), flush=True)
    if sys.argv[1:2] == ["--reference"]:
        library = importlib.import_module(sys.argv[2])
        for motor_g in (0.0, 3.0):
            name = f"{library.__name__} {library.__version__}, 10 a second, motor of {motor_g:g} g"
            print(by_reference(library, 10.0, motor_g).row(name), flush=True)


if __name__ == "__main__":
    main()
