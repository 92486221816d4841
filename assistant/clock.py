"""The only source of time: the machine's clock, and one that a script moves.

Rule: nothing else in the program reads a clock; whatever needs the time gets it, or a `ports.Clock`, as an
argument.
"""

import ctypes
import math
import time
import uuid
from functools import cache
from pathlib import Path

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
SYNCHRONIZED = Path("/run/systemd/timesync/synchronized")
"""systemd-timesyncd makes it at the first answer of a time server in this boot
(systemd-timesyncd.service(8))."""

STA_UNSYNC = 0x0040
"""adjtimex(2): no time daemon has set the clock, or the last that did is hours ago.

systemd-timesyncd, ntpd and chronyd clear it when they have set the clock; chronyd only with `rtcsync` in its
configuration, which Debian ships.
"""

RTC = Path("/dev/rtc0")
"""The battery-kept clock of a board that has one."""

RTC_FROM = 1_735_689_600.0
"""A battery-kept clock that shows less was never set, or its battery is empty: 2025-01-01, 00:00 UTC."""

SCRIPTED_START = 1_768_201_200.0
"""Wall time at which a scripted clock begins: Monday 2026-01-12, 07:00 UTC."""


class RealClock:
    """ports.Clock of this machine.

    `monotonic` counts while the machine sleeps too (CLOCK_BOOTTIME, where the system has it): dough rests on
    whether a lid is shut or not. `boot_file` and `synchronized` are files of the system. `rtc`: the device of
    a battery-kept clock that the kitchen trusts; None: none is.
    """

    def __init__(
        self, boot_file: Path = BOOT_ID, synchronized: Path = SYNCHRONIZED, rtc: Path | None = None
    ) -> None:
        self._synchronized = synchronized
        self._rtc = rtc
        self._was_set = False
        self._boot = _boot_id(boot_file)

    def monotonic(self) -> float:
        """Seconds since the machine started."""
        if hasattr(time, "CLOCK_BOOTTIME"):
            return time.clock_gettime(time.CLOCK_BOOTTIME)
        return time.monotonic()

    def wall(self) -> float:
        """Seconds since 1970, as the machine believes."""
        return time.time()

    def wall_trusted(self) -> bool:
        """Whether a time server set the wall clock, by the kernel or by timesyncd's file of this boot.

        The kernel withdraws its flag some nine hours after the last answer; by then a clock is wrong by
        seconds, so that once set is enough. A battery-kept clock is trusted only where the kitchen says so:
        nothing shows whether it was ever set.
        """
        self._was_set = self._was_set or self._synchronized.exists() or _kernel_synchronized()
        return self._was_set or (self._rtc is not None and self._rtc.exists() and self.wall() >= RTC_FROM)

    def boot_id(self) -> str:
        """The kernel's name of this boot.

        Where there is none, one of this process, so that no other is taken for it.
        """
        return self._boot


class ScriptedClock:
    """ports.Clock that moves only by `move`; for scripts, recordings and tests."""

    def __init__(
        self,
        *,
        wall: float = SCRIPTED_START,
        monotonic: float = 0.0,
        boot: str = "scripted",
        trusted: bool = True,
    ) -> None:
        self.trusted = trusted
        self._wall = wall
        self._monotonic = monotonic
        self._boot = boot

    def monotonic(self) -> float:
        """Seconds since this boot began."""
        return self._monotonic

    def wall(self) -> float:
        """Seconds since 1970."""
        return self._wall

    def wall_trusted(self) -> bool:
        """As `trusted` says."""
        return self.trusted

    def boot_id(self) -> str:
        """Name of the boot, as given or as of the last `reboot`."""
        return self._boot

    def move(self, seconds: float) -> None:
        """Let time pass; ValueError for a negative, infinite or undefined length."""
        if not 0 <= seconds < math.inf:
            raise ValueError(f"time can't move by {seconds} s; give seconds that are zero or more")
        self._monotonic += seconds
        self._wall += seconds

    def set_wall(self, wall: float) -> None:
        """Set the wall clock (s since 1970), forward or back, as a time server does."""
        self._wall = wall

    def reboot(self, boot: str, *, off_s: float = 0.0, trusted: bool | None = None) -> None:
        """Begin another boot after the power was off for `off_s`; `trusted` None: as before."""
        self.move(off_s)
        self._monotonic = 0.0
        self._boot = boot
        self.trusted = self.trusted if trusted is None else trusted


def _boot_id(file: Path) -> str:
    try:
        found = file.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        found = ""
    return found or _process_boot_id()


@cache
def _process_boot_id() -> str:
    return f"process-{uuid.uuid4()}"


class _Timex(ctypes.Structure):
    """The beginning of struct timex of adjtimex(2), and room for its rest."""

    _fields_ = (
        ("modes", ctypes.c_uint),
        ("offset", ctypes.c_long),
        ("freq", ctypes.c_long),
        ("maxerror", ctypes.c_long),
        ("esterror", ctypes.c_long),
        ("status", ctypes.c_int),
        ("rest", ctypes.c_char * 256),
    )


def _kernel_synchronized() -> bool:
    """Ask adjtimex(2) without changing anything; False where it can't be asked, as in some sandboxes."""
    timex = _Timex(modes=0)
    try:
        state = ctypes.CDLL(None).adjtimex(ctypes.byref(timex))
    except (OSError, AttributeError):
        return False
    return bool(state >= 0 and not timex.status & STA_UNSYNC)
