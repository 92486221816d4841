"""A sign of life on disk twice a minute: after a power cut the time it came is known to half a minute.

Without it only the time of the last decision is known, and a rest may run for an hour without one. With it is
kept what a page in another process can't know from the journal: whether the cook is heard, and the last
words. Whether the station lives is known by a lock that the system itself takes from a process that ends,
however it ends (flock(2)).
"""

import fcntl
import os
import threading
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import msgspec

from assistant.ports import Clock, Stamp

FILE = "heartbeat.json"
LOCK = "station.lock"
EVERY_S = 30.0
STALE_S = 4 * EVERY_S
"""A sign of life that is older (s) is none, though its process may be there: it hangs."""


class Beat(msgspec.Struct, frozen=True):
    """When the station was last alive; fields as in `Stamp`, then what it was like."""

    boot: str
    monotonic: float
    wall: float
    wall_trusted: bool
    hearing: str = "hears"
    heard: str = ""
    understood: bool = True
    said: str = ""
    question: str = ""
    gone: str = ""
    """Parts that do not work, with commas between."""
    failing: bool = False
    """Whether what is decided is in memory alone."""
    practising: bool = False
    prompt: str = ""
    """What the cook is to say in a practice; empty: it has to ring first."""
    practice: str = ""
    """State of the batch that is practised, as the journal writes one; no event of it is in the journal."""


class Heartbeat:
    """Writes signs of life to a file, and reads when the station was last alive."""

    def __init__(self, file: Path, clock: Clock) -> None:
        self._file = file
        self._clock = clock
        self._told = Beat("", 0.0, 0.0, wall_trusted=False)
        self._writing = threading.Lock()
        self._lock: int | None = None
        self._over = False

    def tell(self, told: Beat) -> None:
        """Write one with what the station is like now; its times are put in here."""
        self._told = told
        self.beat()

    def beat(self) -> None:
        """Write one; where the disk can't be written, only the sign is lost."""
        clock = self._clock
        with self._writing, suppress(OSError):
            self._hold()
            beat = msgspec.structs.replace(
                self._told,
                boot=clock.boot_id(),
                monotonic=clock.monotonic(),
                wall=clock.wall(),
                wall_trusted=clock.wall_trusted(),
            )
            new = self._file.with_suffix(".new")
            new.write_bytes(msgspec.json.encode(beat))
            new.replace(self._file)

    def run(self, stop: threading.Event) -> None:
        """Write them until stopped, and hold the lock meanwhile."""
        while not stop.is_set():
            self.beat()
            stop.wait(EVERY_S)
        self.close()

    def close(self) -> None:
        """Let the lock go, for good: the station does not run any more."""
        self._over = True
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None

    def lives(self) -> bool:
        """Whether a station runs in this home: its process holds the lock, and its last sign is not old."""
        beat = self.read()
        if beat is None:
            return False
        if beat.boot == self._clock.boot_id() and self._clock.monotonic() - beat.monotonic > STALE_S:
            return False
        try:
            asking = os.open(self._lock_file, os.O_RDONLY | os.O_CLOEXEC)
        except OSError:
            return False
        try:
            fcntl.flock(asking, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except OSError:
            return True
        finally:
            os.close(asking)
        return False

    def read(self) -> Beat | None:
        """The last sign of life; None where there is none that can be read."""
        try:
            return msgspec.json.decode(self._file.read_bytes(), type=Beat)
        except (OSError, msgspec.DecodeError):
            return None

    def latest(self, last: Stamp | None) -> Stamp | None:
        """The later of the journal's last stamp and the last sign of life of the same boot."""
        beat = self.read()
        if last is None or beat is None or beat.boot != last.boot or beat.monotonic <= last.monotonic:
            return last
        return replace(last, monotonic=beat.monotonic, wall=beat.wall, wall_trusted=beat.wall_trusted)

    @property
    def _lock_file(self) -> Path:
        return self._file.with_name(LOCK)

    def _hold(self) -> None:
        """Take the lock; where another has it, a second station or a page that looks, with the next sign."""
        if self._lock is not None or self._over:
            return
        with suppress(OSError):
            found = os.open(self._lock_file, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
            try:
                fcntl.flock(found, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                os.close(found)
                raise
            self._lock = found
