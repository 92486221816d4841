"""From a converter's counts to grams: a line through two points, and the file that keeps it. Pure but for the file.

The line goes through the empty plate and a known mass near that of a full jug, where it has to be right.
"""

import json
import math
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median

from assistant.errors import DeviceError

SATURATED = (-0x800000, 0x7FFFFF)
"""Counts at the end of a 24-bit converter's range: the cell is overloaded, or a wire is off."""
LEAST_COUNTS_PER_GRAM = 5.0
"""Less than this and a gram is lost in the converter's own noise."""
LEAST_MASS_G = 200.0
"""A mass to calibrate with should be near a full jug's; less than this tells too little of it (g)."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """`zero`: counts of the empty plate. `noise_g`: spread from the 10th to the 90th percentile with the mass on it (g).

    `mass_g`: what it was calibrated with. `made_at`: seconds since 1970. `note`: the kitchen's own, as of the
    temperature: a cell drifts with it.
    """

    zero: float
    counts_per_gram: float
    mass_g: float
    noise_g: float
    made_at: float = 0.0
    note: str = ""

    def grams(self, counts: float) -> float:
        """Mass on the plate (g)."""
        return (counts - self.zero) / self.counts_per_gram

    def counts(self, grams: float) -> int:
        """Counts of a mass (g); the way back, for simulations."""
        return round(self.zero + grams * self.counts_per_gram)


def two_points(
    empty: list[int], loaded: list[int], mass_g: float, *, made_at: float = 0.0, note: str = ""
) -> Calibration:
    """The line through the empty plate and the plate with `mass_g` (g). Raises DeviceError."""
    if not (math.isfinite(mass_g) and mass_g >= LEAST_MASS_G):
        raise DeviceError(
            f"Found a mass of {mass_g:g} g, allowed is {LEAST_MASS_G:g} g or more; take about what a full jug weighs."
        )
    for counts, what in ((empty, "empty"), (loaded, "with the mass on it")):
        if not counts:
            raise DeviceError(f"The scale gave no reading {what}; check it with crumbcall scale read.")
        if any(one in SATURATED for one in counts):
            raise DeviceError(
                f"The scale is at the end of its range {what}; check the load cell's wires, and its capacity."
            )
    line = line_through(empty, loaded, mass_g, made_at=made_at, note=note)
    if abs(line.counts_per_gram) < LEAST_COUNTS_PER_GRAM:
        raise DeviceError(
            f"The mass moved the scale by {median(loaded) - line.zero:.0f} counts only; put it on the middle of the plate, "
            "and check that nothing carries the plate but the cell."
        )
    return line


def line_through(
    empty: list[int], loaded: list[int], mass_g: float, *, made_at: float = 0.0, note: str = ""
) -> Calibration:
    """The line through both readings, whatever it is; `two_points` also checks it."""
    zero = float(median(empty))
    slope = (median(loaded) - zero) / mass_g
    noise = spread(loaded) / abs(slope) if slope else 0.0
    return Calibration(zero, slope, mass_g, noise, made_at, note)


def spread(values: list[int] | list[float]) -> float:
    """From the 10th to the 90th percentile, in the unit of the values; 0 for fewer than two."""
    if len(values) < 2:
        return 0.0
    ranked = sorted(values)
    last = len(ranked) - 1
    return float(ranked[round(0.9 * last)] - ranked[round(0.1 * last)])


def load_calibration(file: Path) -> Calibration | None:
    """The calibration that was kept; None where there is none. Raises DeviceError."""
    advice = "calibrate anew: crumbcall scale calibrate"
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
        calibration = Calibration(**found)
        figures = (calibration.zero, calibration.counts_per_gram, calibration.mass_g, calibration.noise_g)
        usable = all(math.isfinite(one) for one in figures) and calibration.counts_per_gram != 0
    except FileNotFoundError:
        return None
    except OSError as error:
        raise DeviceError(
            f"{file} can't be read ({error.strerror}); make it readable, or {advice}."
        ) from error
    except (ValueError, TypeError) as error:
        raise DeviceError(f"{file} is no calibration; {advice}.") from error
    if not usable:
        raise DeviceError(f"{file} is no calibration; {advice}.")
    return calibration


def save_calibration(file: Path, calibration: Calibration) -> None:
    """Keep a calibration for good; the one before is replaced whole or not at all. Raises DeviceError."""
    beside = file.with_suffix(".new")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("w", encoding="utf-8") as written:
            written.write(json.dumps(asdict(calibration), indent=1) + "\n")
            written.flush()
            os.fsync(written.fileno())
        beside.replace(file)
        _sync_folder(file.parent)
    except OSError as error:
        raise DeviceError(
            f"{file} can't be written ({error.strerror}); give its folder to this user."
        ) from error


def _sync_folder(folder: Path) -> None:
    """So that the new name outlives a power cut too."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
