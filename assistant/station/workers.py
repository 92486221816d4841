"""Supervised threads: a worker that ends by an error posts its name and cause to the loop."""

import threading
from collections.abc import Callable
from queue import Queue

from assistant.errors import CrumbcallError
from assistant.station.messages import Died, Message


class Worker:
    """A supervised thread. `run` gets an event that is set when it is to end."""

    def __init__(self, name: str, run: Callable[[threading.Event], None], inbox: "Queue[Message]") -> None:
        self.name = name
        self._run = run
        self._inbox = inbox
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._supervised, name=name, daemon=True)

    def start(self) -> "Worker":
        """Start; returns self."""
        self._thread.start()
        return self

    def stop(self, timeout_s: float = 2.0) -> None:
        """Ask it to end, and wait for it at most this long (s)."""
        self._stop.set()
        self._thread.join(timeout_s)

    def _supervised(self) -> None:
        try:
            self._run(self._stop)
        except CrumbcallError as error:
            self._inbox.put(Died(self.name, str(error)))
        except Exception as error:  # whatever it is, the loop must get it
            self._inbox.put(Died(self.name, f"{type(error).__name__}: {error}"))
