"""How the machine itself is: its supply, its heat, its card. Read from the kernel's files; absent off a Pi.

Bits of `get_throttled` (Raspberry Pi documentation, "vcgencmd"): 0 under-voltage now, 1 clock capped, 2
throttled, 3 soft limit of the temperature; 16 to 19 the same, since the machine was switched on. Not verified
on a real Raspberry Pi.
"""

import os
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

THROTTLED = Path("/sys/devices/platform/soc/soc:firmware/get_throttled")
THERMAL = Path("/sys/class/thermal")
UNDER_VOLTAGE = 1 << 0 | 1 << 16
"""Now, or since it was switched on: a supply that is too weak is so again with the next load."""
SLOWED = 1 << 2 | 1 << 3
"""Throttled, or at the soft limit, now."""
HOT_C = 80.0
"""From here on a Pi slows down (its documentation); the station hears late."""
COOL_C = 75.0
"""Down to here it counts as hot after it was."""
LEAST_FREE_MB = 200.0
"""A card with less room (MB) is told: a batch takes some 20 kB, the log and updates far more."""
_VCGENCMD = ("vcgencmd", "get_throttled")
_VCGENCMD_S = 3.0


@dataclass(frozen=True, slots=True)
class MachineHealth:
    """What was read; None where this machine does not say."""

    throttled: int | None = None
    """Bits of `get_throttled`."""
    temperature_c: float | None = None
    """Of the hottest zone (C)."""
    free_mb: float | None = None
    """Room on the card of the journal (MB)."""
    read_only: bool = False
    """Whether that card can't be written."""

    def problems(self, before: frozenset[str] = frozenset()) -> dict[str, str]:
        """Part of the machine -> what is wrong with it, in one line; `before`: parts that were so before."""
        found: dict[str, str] = {}
        if self.throttled is not None and self.throttled & UNDER_VOLTAGE:
            found["power supply"] = "the voltage was too low; take a supply and cable made for this board"
        limit = COOL_C if "cooling" in before else HOT_C
        hot = self.temperature_c is not None and self.temperature_c >= limit
        if hot or (self.throttled is not None and self.throttled & SLOWED):
            at = "" if self.temperature_c is None else f" ({self.temperature_c:.0f} C)"
            found["cooling"] = f"the processor is too hot{at} and slows down; give it air"
        if self.read_only:
            found["card"] = "it can't be written any more; make a copy and take another"
        elif self.free_mb is not None and self.free_mb < LEAST_FREE_MB:
            found["card"] = f"only {self.free_mb:.0f} MB are free; {LEAST_FREE_MB:.0f} are wanted: make room"
        return found


def ask_vcgencmd() -> str:
    """What vcgencmd says; "" where there is none."""
    try:
        return subprocess.run(
            _VCGENCMD, capture_output=True, text=True, timeout=_VCGENCMD_S, check=False
        ).stdout
    except (OSError, subprocess.TimeoutExpired):
        return ""


def read_health(
    folder: Path,
    *,
    throttled: Path = THROTTLED,
    thermal: Path = THERMAL,
    ask: Callable[[], str] = ask_vcgencmd,
) -> MachineHealth:
    """Look at this machine; `folder`: where the journal is. What can't be read is not known.

    `ask`: asked for the bits where the kernel has no such file.
    """
    free, read_only = _card(folder)
    return MachineHealth(_throttled(throttled, ask), _hottest(thermal), free, read_only)


def throttled_bits(text: str) -> int | None:
    """The bits, as the kernel ("50000", "0x50000") or vcgencmd ("throttled=0x50000") says them; else None."""
    try:
        return int(text.strip().rpartition("=")[2], 16)
    except ValueError:
        return None


def _throttled(file: Path, ask: Callable[[], str]) -> int | None:
    text = _read(file)
    return throttled_bits(ask() if text is None else text)


def _hottest(folder: Path) -> float | None:
    """Temperature of the hottest zone (C)."""
    texts = (_read(zone / "temp") for zone in sorted(folder.glob("thermal_zone*")))
    found = [int(text) / 1000 for text in texts if text is not None and text.strip().lstrip("-").isdigit()]
    return max(found, default=None)


def _card(folder: Path) -> tuple[float | None, bool]:
    """Room (MB), and whether it can't be written."""
    try:
        found = os.statvfs(folder)
    except OSError:
        return None, False
    return found.f_bavail * found.f_frsize / 1e6, bool(found.f_flag & os.ST_RDONLY)


def _read(file: Path) -> str | None:
    try:
        return file.read_text(encoding="ascii", errors="replace")
    except OSError:
        return None
