"""Raw samples of a scale in a file: recorded for support, and played again.

Text. First lines `# name: value` (the calibration, where there was one), then a line `seconds,counts` per
sample.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path

from assistant.devices.scale.weight import Calibration
from assistant.errors import DeviceError

_NUMBERS = ("zero", "counts_per_gram", "mass_g", "noise_g", "made_at")


@dataclass(frozen=True, slots=True)
class Samples:
    """A recording of a scale."""

    samples: tuple[tuple[float, int], ...]
    """When (s from the beginning) and counts, in order."""
    calibration: Calibration | None = None
    """The calibration at the time; None where there was none."""


def sample_lines(calibration: Calibration | None, samples: Iterable[tuple[float, int]]) -> Iterator[str]:
    """Lines of such a file, as the samples come."""
    yield "# crumbcall scale samples: seconds,counts"
    if calibration is not None:
        for name, value in asdict(calibration).items():
            yield f"# {name}: {' '.join(str(value).split())}"
    for seconds, counts in samples:
        yield f"{seconds:.3f},{counts}"


def read_samples(file: Path) -> Samples:
    """Read such a file. Raises DeviceError, with the line, where it is not one."""
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "not UTF-8 text"
        raise DeviceError(f"{file} can't be read ({why}); name a file that scale record wrote.") from error
    heads: dict[str, str] = {}
    found: list[tuple[float, int]] = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("#"):
            name, _, value = line.removeprefix("#").partition(":")
            heads[name.strip()] = value.strip()
        elif line.strip():
            seconds, _, counts = line.partition(",")
            try:
                found.append((float(seconds), int(counts)))
            except ValueError as error:
                raise DeviceError(
                    f'{file}, line {number}: found "{line.strip()[:40]}", allowed is seconds,counts; '
                    "name a file that scale record wrote."
                ) from error
    if not found:
        raise DeviceError(f"{file} holds no samples; name a file that scale record wrote.")
    if not all(before[0] <= after[0] for before, after in pairwise(found)):
        raise DeviceError(f"{file}: its times go back; name a file that scale record wrote.")
    return Samples(tuple(found), _calibration(file, heads))


def _calibration(file: Path, heads: dict[str, str]) -> Calibration | None:
    if not heads.keys() >= {"zero", "counts_per_gram"}:
        return None
    damaged = f"{file}: the calibration at its head is damaged; remove it, or name another file."
    try:
        values = {name: float(heads[name]) for name in _NUMBERS if name in heads}
    except ValueError as error:
        raise DeviceError(damaged) from error
    if not values["counts_per_gram"] or not all(map(math.isfinite, values.values())):
        raise DeviceError(damaged)
    values = {"mass_g": 0.0, "noise_g": 0.0, **values}
    return Calibration(**values, note=heads.get("note", ""))
