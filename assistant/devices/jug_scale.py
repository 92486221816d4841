"""The jug scale as a whole: samples in, what happened to the jug out; read and zeroed when asked.

`JugScale` is fed by a worker that polls the chip (`Live`), or by the clock of a recording (`Replayed`).
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from assistant.devices.pouring import Drifted, Happening, Jug, Phase
from assistant.devices.samples import Samples
from assistant.devices.weight import SATURATED, Calibration
from assistant.errors import DeviceError
from assistant.ports import ScaleReader

RETRY_S = 5.0
"""How often to try to get back a scale that is gone (s)."""
SILENT_S = 3.0
"""A chip without a conversion for so long (s) is gone."""

DRIFT_G = 25.0
"""A zero that went so far (g) since the calibration is told once: pours are still right, the cell or its mounting may not be."""


@dataclass(frozen=True, slots=True)
class Overloaded:
    """The converter is at the end of its range."""


@dataclass(frozen=True, slots=True)
class Gone:
    """The scale does not answer."""


@dataclass(frozen=True, slots=True)
class Back:
    """It answers again."""


Report = Happening | Overloaded | Gone | Back
Zeroed = Literal["zeroed", "loaded", "gone"]
Read = Literal["steady", "unsteady", "off", "gone"]


class JugScale:
    """What the scale knows; `act` hears of what happens. May be asked from any thread."""

    def __init__(self, calibration: Calibration, act: Callable[[Report], None]) -> None:
        self._calibration = calibration
        self._act = act
        self._jug = Jug()
        self._overloaded = False
        self._gone = False
        self._drifted = False
        self._lock = threading.Lock()

    def feed(self, counts: int, now: float) -> None:
        """The next sample at `now` (s); one from the end of the range is left out."""
        overloaded = counts in SATURATED
        found: list[Report] = [Overloaded()] if overloaded and not self._overloaded else []
        self._overloaded = overloaded
        if not overloaded:
            with self._lock:
                found += self._jug.feed(self._calibration.grams(counts), now)
        for report in found:
            if not isinstance(report, Drifted):
                self._act(report)
            elif abs(self._jug.zero_g) > DRIFT_G and not self._drifted:
                self._drifted = True
                self._act(Drifted(self._jug.zero_g))

    def gone(self, gone: bool) -> None:
        """The chip does not answer, or does again; what was weighed before counts for nothing then."""
        if gone != self._gone:
            self._gone = gone
            if gone:
                with self._lock:
                    zero, self._jug = self._jug.zero_g, Jug()
                    self._jug.zero_g = zero
            self._act(Gone() if gone else Back())

    def read(self) -> tuple[Read, float]:
        """What the plate carries now (g), and whether that is so."""
        with self._lock:
            if self._gone:
                return "gone", 0.0
            level = self._jug.level_g
            if level is None:
                return "unsteady", 0.0
            return ("steady", level) if self._jug.phase is Phase.STANDING else ("off", level)

    def zero(self) -> Zeroed:
        """Call the empty plate zero; never a loaded one."""
        with self._lock:
            if self._gone:
                return "gone"
            return "loaded" if self._jug.tare() is None else "zeroed"


class Live:
    """A worker that polls a chip; one that is gone is tried again, and the cook is told once."""

    def __init__(
        self,
        scale: JugScale,
        open_reader: Callable[[], ScaleReader],
        now: Callable[[], float],
        *,
        rate: float,
    ) -> None:
        self._scale = scale
        self._open = open_reader
        self._now = now
        self._look_s = 0.5 / rate

    def run(self, stop: threading.Event) -> None:
        """Poll until stopped."""
        while not stop.is_set():
            try:
                reader = self._open()
                try:
                    self._poll(reader, stop)
                finally:
                    reader.close()
            except DeviceError:
                self._scale.gone(True)
                stop.wait(RETRY_S)

    def _poll(self, reader: ScaleReader, stop: threading.Event) -> None:
        last = self._now()
        while not stop.wait(self._look_s):
            now = self._now()
            counts = reader.poll()
            if counts is not None:
                self._scale.gone(False)
                self._scale.feed(counts, now)
                last = now
            elif now - last > SILENT_S:
                raise DeviceError(f"The scale gave no reading for {SILENT_S:g} s; check its wires.")


class Replayed:
    """Plays recorded samples, their beginning at `start` (s)."""

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
        """Feed all that comes until `now` (s)."""
        while self._next is not None and (at := self._start + self._next[0]) <= now:
            self._scale.feed(self._next[1], at)
            self._next = next(self._waiting, None)

    def run(self, stop: threading.Event, now: Callable[[], float]) -> None:
        """Feed them live, as time goes on, until the end or stopped."""
        while (at := self.next_at) is not None and not stop.wait(max(0.0, at - now())):
            self.upto(now())
