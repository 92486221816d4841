"""From a converter's counts to grams: a line through two points, and the file that keeps it.

Pure but for the file. The line goes through the empty plate and a known mass near that of a full jug, where
it has to be right.
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
"""With fewer counts a gram is lost in the converter's own noise."""
LEAST_MASS_G = 200.0
"""A mass to calibrate with should be near a full jug's; a smaller one (g) says too little about it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """The line from counts to grams. The file of it has these names."""

    zero: float
    """Counts of the empty plate."""
    counts_per_gram: float
    mass_g: float
    """The known mass that was on the plate (g)."""
    noise_g: float
    """Spread of the reading with the mass on the plate, from the 10th to the 90th percentile (g)."""
    made_at: float = 0.0
    """When it was made (s since 1970); 0: not known."""
    note: str = ""
    """The kitchen's own note, such as the temperature: a cell drifts with it."""

    def grams(self, counts: float) -> float:
        """Mass on the plate (g)."""
        return (counts - self.zero) / self.counts_per_gram


def two_points(
    empty: list[int], loaded: list[int], mass_g: float, *, made_at: float = 0.0, note: str = ""
) -> Calibration:
    """The line through the empty plate and the plate with `mass_g` (g). Raises DeviceError."""
    if not (math.isfinite(mass_g) and mass_g >= LEAST_MASS_G):
        raise DeviceError(
            f"Found a mass of {mass_g:g} g, allowed is {LEAST_MASS_G:g} g or more; "
            "take about what a full jug weighs."
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
            f"The mass moved the scale by {median(loaded) - line.zero:.0f} counts only; put it on the middle "
            "of the plate, and check that nothing carries the plate but the cell."
        )
    return line


def line_through(
    empty: list[int], loaded: list[int], mass_g: float, *, made_at: float = 0.0, note: str = ""
) -> Calibration:
    """The line through both readings, unchecked; `two_points` also checks it."""
    zero = float(median(empty))
    slope = (median(loaded) - zero) / mass_g
    noise = spread(loaded) / abs(slope) if slope else 0.0
    return Calibration(
        zero=zero, counts_per_gram=slope, mass_g=mass_g, noise_g=noise, made_at=made_at, note=note
    )


def spread(values: list[int] | list[float]) -> float:
    """From the 10th to the 90th percentile, in the unit of the values; 0 for fewer than two."""
    if len(values) < 2:
        return 0.0
    ranked = sorted(values)
    last = len(ranked) - 1
    return float(ranked[round(0.9 * last)] - ranked[round(0.1 * last)])


def load_calibration(file: Path) -> Calibration | None:
    """The calibration in the file; None where there is no file. Raises DeviceError."""
    advice = "calibrate again: crumbcall scale calibrate"
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
        raise DeviceError(f"{file} is not a calibration; {advice}.") from error
    if not usable:
        raise DeviceError(f"{file} is not a calibration; {advice}.")
    return calibration


def save_calibration(file: Path, calibration: Calibration) -> None:
    """Write a calibration to disk; the one before is replaced whole or not at all. Raises DeviceError."""
    new = file.with_suffix(".new")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with new.open("w", encoding="utf-8") as written:
            written.write(json.dumps(asdict(calibration), indent=1) + "\n")
            written.flush()
            os.fsync(written.fileno())
        new.replace(file)
        _sync_folder(file.parent)
    except OSError as error:
        raise DeviceError(
            f"{file} can't be written ({error.strerror}); give its folder to this user."
        ) from error


def _sync_folder(folder: Path) -> None:
    """Sync the folder, so that the new name outlives a power cut too."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
