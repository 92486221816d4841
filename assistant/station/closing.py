"""Closing time: the station stops listening by itself, once an evening, when no batch is open."""

import threading
from collections.abc import Callable
from datetime import datetime, tzinfo

from assistant.ports import Clock

LOOK_EVERY_S = 20.0
MINUTES = 5
"""So long after closing time it may still be noticed; later than that somebody works on, and wants to be heard."""


def is_closing(wall: float, closes: str, zone: tzinfo | None = None) -> bool:
    """Whether this wall time (s since 1970) is within the minutes after `closes` ("23:30"), in the kitchen's zone."""
    now = datetime.fromtimestamp(wall, zone)
    hour, minute = closes.split(":")
    return 0 <= (now.hour * 60 + now.minute - int(hour) * 60 - int(minute)) % (24 * 60) < MINUTES


class ClosingTime:
    """Calls `close` once at every closing time; `busy` tells whether a batch is open, and then it waits.

    Without a wall clock that is trusted there is no closing time.
    """

    def __init__(
        self,
        clock: Clock,
        closes: str,
        busy: Callable[[], bool],
        close: Callable[[], None],
        zone: tzinfo | None = None,
    ) -> None:
        self._clock = clock
        self._closes = closes
        self._busy = busy
        self._close = close
        self._zone = zone
        self._done = False

    def look(self) -> None:
        """Close where it is time."""
        if not (self._clock.wall_trusted() and is_closing(self._clock.wall(), self._closes, self._zone)):
            self._done = False
        elif not self._done and not self._busy():
            self._done = True
            self._close()

    def run(self, stop: threading.Event) -> None:
        """Look again and again, until stopped."""
        while not stop.wait(LOOK_EVERY_S):
            self.look()
