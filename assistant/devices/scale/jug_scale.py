"""The jug scale as a whole: samples in, what happened to the jug out; read and zeroed when asked.

`JugScale` is fed by a worker that polls the chip (`Live`), or by the clock of a recording (`Replayed`).
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from assistant.devices.scale.calibrating import LEFT, Guide, Guided
from assistant.devices.scale.pouring import EMPTY_G, Drifted, Happening, Jug, PlateState
from assistant.devices.scale.samples import Samples
from assistant.devices.scale.weight import SATURATED, Calibration
from assistant.errors import DeviceError
from assistant.ports import ScaleReader

RETRY_S = 5.0
"""How often to try to get back a scale that is gone (s)."""
SILENT_S = 3.0
"""A chip without a conversion for this long (s) is gone."""
DRIFT_G = 25.0
"""A zero that moved further (g) since the calibration is reported once: pours are still right, but the cell
or its mounting may not be."""
RATE_S = 2.0
"""How long after a start the samples are counted (s)."""
RATES = (10, 80)
"""Samples a second that the boards can be wired for."""
CLEAR_S = 0.5
"""After a calibration the plate must be empty for this long (s) before what stands on it is a jug."""


@dataclass(frozen=True, slots=True)
class Overloaded:
    """The converter is at the end of its range."""


@dataclass(frozen=True, slots=True)
class OtherRate:
    """It sends another number of samples than the settings say: its pin RATE is wired otherwise."""

    found: int
    """Samples a second."""
    set_to: int


@dataclass(frozen=True, slots=True)
class Gone:
    """The scale does not answer."""


@dataclass(frozen=True, slots=True)
class Back:
    """It answers again."""


@dataclass(frozen=True, slots=True)
class Calibrated:
    """It is calibrated, and the calibration is on disk."""

    grams: float
    """The known mass (g)."""


@dataclass(frozen=True, slots=True)
class NotKept:
    """A calibration was made but could not be written: the one before counts."""


Report = Happening | Overloaded | OtherRate | Gone | Back | Guided | Calibrated | NotKept
Lack = Literal["gone", "calibrating", "uncalibrated"]
"""Why the scale can't be asked."""
Zeroed = Literal["zeroed", "loaded"] | Lack
Read = Literal["steady", "unsteady", "off"] | Lack
Keep = Callable[[Calibration], None]
"""Writes a calibration to disk; DeviceError where it can't."""


class JugScale:
    """What the scale knows; `act` gets what happens. May be asked from any thread.

    `calibration` None: it only waits to be calibrated. While it is being calibrated there is no jug: nothing
    that is put on or taken off is a pour, up to the empty plate after it.
    """

    def __init__(self, calibration: Calibration | None, act: Callable[[Report], None], keep: Keep) -> None:
        self._calibration = calibration
        self._act = act
        self._keep = keep
        self._guide: Guide | None = None
        self._clearing = False
        self._clear_since: float | None = None
        self._jug = Jug()
        self._overloaded = False
        self._gone = False
        self._drifted = False
        self._lock = threading.Lock()

    def feed(self, counts: int, now: float) -> None:
        """Take the next sample at `now` (s); one from the end of the range is left out."""
        with self._lock:
            found = self._fed(counts, now)
        for report in found:
            if not isinstance(report, Drifted):
                self._act(report)
            elif abs(self._jug.zero_g) > DRIFT_G and not self._drifted:
                self._drifted = True
                self._act(Drifted(self._jug.zero_g))

    def _fed(self, counts: int, now: float) -> list[Report]:
        if self._guide is not None:
            report = self._settle(self._guide.feed(counts, now))
            return [] if report is None else [report]
        if self._calibration is None:
            return []
        overloaded, before = counts in SATURATED, self._overloaded
        self._overloaded = overloaded
        if overloaded:
            return [] if before else [Overloaded()]
        grams = self._calibration.grams(counts)
        return [] if self._still_on(grams, now) else [*self._jug.feed(grams, now)]

    def _still_on(self, grams: float, now: float) -> bool:
        """Whether the weight of a calibration may still be there."""
        if self._clearing:
            on = grams - self._jug.zero_g >= EMPTY_G
            self._clear_since = None if on else now if self._clear_since is None else self._clear_since
            self._clearing = self._clear_since is None or now - self._clear_since < CLEAR_S
        return self._clearing

    def other_rate(self, found: int, set_to: int) -> None:
        """It sends `found` samples a second, where the settings say `set_to`."""
        self._act(OtherRate(found, set_to))

    # --- calibrating

    @property
    def calibrated(self) -> bool:
        """Whether there is a calibration."""
        return self._calibration is not None

    @property
    def guide(self) -> Guide | None:
        """The calibration in progress, None without one; move it with `guided` alone."""
        return self._guide

    def calibrate(self, *, batch_open: bool) -> Guided | Literal["gone", "jug_off"]:
        """Begin to calibrate; not while the jug is off in a batch: a pour is on its way."""
        with self._lock:
            if self._gone:
                return "gone"
            if self._guide is None and batch_open and self._jug.state is PlateState.LIFTED:
                return "jug_off"
            self._guide = self._guide or Guide(self._calibration)
            return self._guide.prompt()

    def guided(self, move: Callable[[Guide], Guided | Calibration]) -> Report | None:
        """Move the calibration on by a word; None where it ended meanwhile."""
        with self._lock:
            return None if self._guide is None else self._settle(move(self._guide))

    def _leave(self) -> None:
        if self._guide is not None:
            zero, zero_g = self._guide.zero, self._jug.zero_g
            if zero is not None and self._calibration is not None:
                zero_g = self._calibration.grams(zero)
            self._restart(zero_g, clearing=self._guide.emptied)
            self._guide = None

    def _settle(self, found: Guided | Calibration | None) -> Report | None:
        """What a move of the guide leads to; a calibration counts once it is on disk."""
        if isinstance(found, Calibration):
            self._leave()
            try:
                self._keep(found)
            except DeviceError:
                return NotKept()
            self._calibration, self._drifted = found, False
            self._restart(0.0, clearing=self._clearing)
            return Calibrated(found.mass_g)
        if found is not None and found.what in LEFT:
            self._leave()
        return found

    def _restart(self, zero_g: float, *, clearing: bool) -> None:
        """Forget what stands on the plate."""
        self._jug = Jug(zero_g=zero_g)
        self._clearing, self._clear_since = clearing, None

    # --- asked, and gone

    def gone(self, gone: bool) -> None:
        """The chip does not answer, or answers again; what was weighed before does not count then."""
        if gone != self._gone:
            self._gone = gone
            if gone:
                with self._lock:
                    clearing = self._clearing or (self._guide is not None and self._guide.emptied)
                    self._guide = None
                    self._restart(self._jug.zero_g, clearing=clearing)
            self._act(Gone() if gone else Back())

    def _lack(self) -> Lack | None:
        """Why it can't be asked."""
        if self._gone:
            return "gone"
        if self._guide is not None:
            return "calibrating"
        return None if self._calibration is not None else "uncalibrated"

    def read(self) -> tuple[Read, float]:
        """What sort of reading there is now, and what the plate carries (g; 0 where that can't be known)."""
        with self._lock:
            if (lack := self._lack()) is not None:
                return lack, 0.0
            level = self._jug.level_g
            if level is None:
                return "unsteady", 0.0
            return ("steady" if self._jug.state is PlateState.STANDING else "off"), level

    def zero(self) -> Zeroed:
        """Call the empty plate zero; never a loaded one."""
        with self._lock:
            if (lack := self._lack()) is not None:
                return lack
            return "loaded" if self._jug.tare() is None else "zeroed"


class Live:
    """A worker that polls a chip; one that is gone is tried again, and reported once.

    `alive` is called at every poll: who does not call hangs in a driver.
    """

    def __init__(
        self,
        scale: JugScale,
        open_reader: Callable[[], ScaleReader],
        now: Callable[[], float],
        *,
        rate: float,
        alive: Callable[[], None] = lambda: None,
    ) -> None:
        self._alive = alive
        self._scale = scale
        self._open = open_reader
        self._now = now
        self._rate = rate
        self._look_s = 0.5 / rate
        self._told_rate = False

    def run(self, stop: threading.Event) -> None:
        """Poll until stopped."""
        while not stop.is_set():
            try:
                reader = self._open()
                try:
                    self._poll(reader, stop)
                finally:
                    reader.close()
            except Exception:  # drivers raise what they like
                self._scale.gone(True)
                self._alive()
                stop.wait(RETRY_S)

    def _poll(self, reader: ScaleReader, stop: threading.Event) -> None:
        last = self._now()
        pace = Pace()
        while not stop.wait(self._look_s):
            self._alive()
            now = self._now()
            counts = reader.poll()
            if counts is not None:
                self._scale.gone(False)
                self._scale.feed(counts, now)
                last = now
                found = pace.sample(now)
                if found is not None and found != self._rate and not self._told_rate:
                    self._told_rate = True
                    self._scale.other_rate(found, round(self._rate))
            elif now - last > SILENT_S:
                raise DeviceError(f"The scale gave no reading for {SILENT_S:g} s; check its wires.")


class Pace:
    """Counts samples over a while (s): which of the `RATES` a board is wired for."""

    def __init__(self, over_s: float = RATE_S) -> None:
        self._over_s = over_s
        self._first: float | None = None
        self._count = 0

    def sample(self, now: float) -> int | None:
        """A sample came at `now` (s); the rate, once it is known."""
        if self._first is None:
            self._first = now
            return None
        self._count += 1
        passed = now - self._first
        if passed < self._over_s or self._count < 2:
            return None
        pace = self._count / passed
        self._first, self._count = now, 0
        return min(RATES, key=lambda rate: max(rate / pace, pace / rate))


class Replayed:
    """Plays recorded samples, as if they had begun at `start` (s)."""

    def __init__(self, scale: JugScale, samples: Samples, start: float) -> None:
        self._scale = scale
        self._waiting = iter(samples.samples)
        self._start = start
        self._next = next(self._waiting, None)

    @property
    def next_at(self) -> float | None:
        """When the next sample comes (s); None at the end."""
        return None if self._next is None else self._start + self._next[0]

    def upto(self, now: float) -> None:
        """Feed all samples up to `now` (s)."""
        while self._next is not None and (at := self._start + self._next[0]) <= now:
            self._scale.feed(self._next[1], at)
            self._next = next(self._waiting, None)

    def run(self, stop: threading.Event, now: Callable[[], float]) -> None:
        """Feed them live, as time passes, until the end or stopped."""
        while (at := self.next_at) is not None and not stop.wait(max(0.0, at - now())):
            self.upto(now())
