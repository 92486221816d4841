"""A fake of a process of our own: what it does runs in a thread, at the other end of a real channel.

It can hang, as code in C does, until it is killed: nothing waits for time.
"""

import socket
import threading
from collections.abc import Callable
from contextlib import suppress

from assistant.apart import Apart, Channel
from assistant.errors import ApartError


class FakeApart(Apart):
    """In place of `apart.Apart`; `serve` is what the process does, with its end and an event set by a kill.

    `killed`: whether it was ended from outside.
    """

    def __init__(self, serve: Callable[[Channel, threading.Event], None], name: str = "fake") -> None:
        ours, theirs = socket.socketpair()
        Channel.__init__(self, ours, name)
        self._serve = serve
        self._inside = Channel(theirs, "station")
        self._ended = threading.Event()
        self.killed = False
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def kill(self) -> None:
        """End it; whoever hangs in it is let go."""
        self.killed = True
        self._ended.set()
        self.close()
        self._thread.join(5)

    def _run(self) -> None:
        with suppress(ApartError):
            self._serve(self._inside, self._ended)
        self._inside.close()
