"""A sign of life on disk twice a minute: after a power cut the time it came is known to half a minute.

Without it only the time of the last decision is known, and a rest may run for an hour without one.
"""

import threading
from dataclasses import replace
from pathlib import Path

import msgspec

from assistant.ports import Clock, Stamp

FILE = "heartbeat.json"
EVERY_S = 30.0


class _Beat(msgspec.Struct, frozen=True):
    """When the station was last alive; fields as in `Stamp`."""

    boot: str
    monotonic: float
    wall: float
    wall_trusted: bool


class Heartbeat:
    """Writes signs of life to a file, and reads when the station was last alive."""

    def __init__(self, file: Path, clock: Clock) -> None:
        self._file = file
        self._clock = clock

    def beat(self) -> None:
        """Write one; where the disk can't be written, only the sign is lost."""
        clock = self._clock
        beat = _Beat(clock.boot_id(), clock.monotonic(), clock.wall(), clock.wall_trusted())
        new = self._file.with_suffix(".new")
        try:
            new.write_bytes(msgspec.json.encode(beat))
            new.replace(self._file)
        except OSError:
            return

    def run(self, stop: threading.Event) -> None:
        """Write them until stopped."""
        while not stop.is_set():
            self.beat()
            stop.wait(EVERY_S)

    def latest(self, last: Stamp | None) -> Stamp | None:
        """The later of the journal's last stamp and the last sign of life of the same boot."""
        if last is None:
            return None
        try:
            beat = msgspec.json.decode(self._file.read_bytes(), type=_Beat)
        except (OSError, msgspec.DecodeError):
            return last
        if beat.boot != last.boot or beat.monotonic <= last.monotonic:
            return last
        return replace(last, monotonic=beat.monotonic, wall=beat.wall, wall_trusted=beat.wall_trusted)
