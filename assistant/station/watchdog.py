"""Reports to systemd that the station is up and works: sd_notify(3), a datagram to NOTIFY_SOCKET.

Without such a socket it does nothing.
"""

import os
import socket
import threading
from collections.abc import Callable, Mapping
from queue import Queue

from assistant.station.messages import Beat, Message
from assistant.station.workers import Worker


class Watchdog:
    """Reports to systemd, which restarts the station after WATCHDOG_USEC without a beat.

    A beat goes through the loop, and out only while nothing vital hangs.
    """

    def __init__(self, environ: Mapping[str, str] = os.environ) -> None:
        address = environ.get("NOTIFY_SOCKET", "")
        self._address = f"\0{address[1:]}" if address.startswith("@") else address
        microseconds = environ.get("WATCHDOG_USEC", "")
        self.every_s = int(microseconds) / 1e6 / 3 if microseconds.isdigit() else 0.0
        """Seconds between two beats: a third of what systemd waits, so that one may be late."""

    def notify(self, state: str) -> None:
        """Send `READY=1`, `STOPPING=1` or `WATCHDOG=1`; nothing happens where systemd does not listen."""
        if not self._address:
            return
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sending:
                sending.connect(self._address)
                sending.send(state.encode())
        except OSError:
            return

    def workers(self, inbox: "Queue[Message]", live: Callable[[], bool] = lambda: True) -> list[Worker]:
        """The worker that asks the loop whether it still turns; none where systemd does not watch.

        `live`: whether ear, recogniser and voice do what they are at in time.
        """
        if not self._address or not self.every_s:
            return []
        return [Worker("watchdog", lambda stop: self._beat(stop, inbox.put, live), inbox)]

    def _beat(self, stop: threading.Event, put: Callable[[Message], None], live: Callable[[], bool]) -> None:
        def turned() -> None:
            if live():
                self.notify("WATCHDOG=1")

        while not stop.wait(self.every_s):
            put(Beat(turned))
