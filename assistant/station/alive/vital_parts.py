"""Which parts of the station work: a loss is told once, and so is its end; who hangs is known."""

import threading
from collections.abc import Callable
from queue import Queue

from assistant.station.messages import Found, Lost, Message

ALIVE_S = 20.0
"""A device's thread gives a sign of life within this time (s), or it hangs in a driver."""
LOOK_S = 5.0
"""How often it is looked who hangs (s)."""
VITAL = ("microphone", "recogniser", "voice")
"""Where one of these hangs the watchdog is not fed: each can end what it waits for, so it is our own bug."""


class Parts:
    """Follows the parts of the station, by name. From any thread."""

    def __init__(self, inbox: "Queue[Message]", now: Callable[[], float]) -> None:
        self._inbox = inbox
        self._now = now
        self._lost: dict[str, str] = {}
        self._due: dict[str, float] = {}
        self._hanging: set[str] = set()
        self._lock = threading.Lock()

    def lost(self, part: str, cause: str) -> None:
        """It is gone, and its worker tries to get it back; told where it was not gone before."""
        with self._lock:
            before = part in self._lost
            self._lost[part] = cause
        if not before:
            self._inbox.put(Lost(part, cause))

    def missing(self, part: str, cause: str) -> None:
        """It was not there at the start, which is told with all else that is missing then."""
        with self._lock:
            self._lost[part] = cause

    def found(self, part: str) -> None:
        """It works; told where it was gone."""
        with self._lock:
            before = self._lost.pop(part, None)
        if before is not None:
            self._inbox.put(Found(part))

    @property
    def gone(self) -> dict[str, str]:
        """What is gone, with the cause in one line."""
        with self._lock:
            return dict(self._lost)

    def due(self, part: str, within_s: float) -> None:
        """The part's thread is at work, and will say so again within this time (s), whatever happens."""
        with self._lock:
            self._due[part] = self._now() + within_s

    def rests(self, part: str) -> None:
        """The part's thread waits for work."""
        with self._lock:
            self._due.pop(part, None)

    @property
    def late(self) -> list[str]:
        """Parts whose thread did not say in time that it lives: it hangs."""
        now = self._now()
        with self._lock:
            return [part for part, due in self._due.items() if due < now]

    @property
    def live(self) -> bool:
        """Whether no vital part hangs."""
        return not any(part in VITAL for part in self.late)

    def look(self) -> None:
        """Tell of other parts that hang, and of those that do no more."""
        late = {part for part in self.late if part not in VITAL}
        for part in late - self._hanging:
            self.lost(part, "it hangs")
        for part in self._hanging - late:
            self.found(part)
        self._hanging = late

    def run(self, stop: threading.Event) -> None:
        """Look until stopped."""
        while not stop.wait(LOOK_S):
            self.look()
