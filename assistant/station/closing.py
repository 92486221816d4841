"""Closing time: the station stops listening by itself, once an evening, when no batch is open."""

import threading
from collections.abc import Callable
from datetime import datetime, tzinfo

from assistant.ports import Clock

LOOK_EVERY_S = 20.0
MINUTES = 5
"""Closing time is noticed up to this long after it (minutes); later somebody still works and is heard."""


def is_closing(wall: float, closes: str, zone: tzinfo | None = None) -> bool:
    """Whether a wall time is within the `MINUTES` after closing time.

    `wall`: s since 1970. `closes`: as "23:30". `zone`: the kitchen's; None for the machine's.
    """
    now = datetime.fromtimestamp(wall, zone)
    hour, minute = closes.split(":")
    return 0 <= (now.hour * 60 + now.minute - int(hour) * 60 - int(minute)) % (24 * 60) < MINUTES


class ClosingTime:
    """Calls `close` once at every closing time; while `busy`, it waits.

    Without a trusted wall clock there is no closing time.
    """

    def __init__(
        self,
        clock: Clock,
        closes: str,
        *,
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
        """Close, if it is time."""
        if not (self._clock.wall_trusted() and is_closing(self._clock.wall(), self._closes, self._zone)):
            self._done = False
        elif not self._done and not self._busy():
            self._done = True
            self._close()

    def run(self, stop: threading.Event) -> None:
        """Look every `LOOK_EVERY_S`, until stopped."""
        while not stop.wait(LOOK_EVERY_S):
            self.look()
