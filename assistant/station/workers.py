"""Supervised threads: a worker that ends by an error is told to the loop and begun again, later each time."""

import threading
from collections.abc import Callable
from queue import Queue
from typing import Protocol

from assistant.errors import one_line
from assistant.station.messages import Died, Message, Recovered

AGAIN_S = (1.0, 2.0, 5.0, 10.0, 30.0, 60.0)
"""Seconds before a worker that died is begun again; the last one repeats."""
WELL_S = 20.0
"""A worker that was begun again and lives for this long (s) is well."""


class Later(Protocol):
    """Something that happens after a while, unless it is called off."""

    def start(self) -> None:
        """Let the time run."""

    def cancel(self) -> None:
        """Call it off."""


def _timer(seconds: float, act: Callable[[], None]) -> Later:
    timer = threading.Timer(seconds, act)
    timer.daemon = True
    return timer


class Worker:
    """A supervised thread. `run` gets an event that is set when it is to end, and may be called again.

    It is told once that it died, and once that it is well again. `later` makes what happens after a time (s).
    """

    def __init__(
        self,
        name: str,
        run: Callable[[threading.Event], None],
        inbox: "Queue[Message]",
        *,
        later: Callable[[float, Callable[[], None]], Later] = _timer,
        stopping: threading.Event | None = None,
    ) -> None:
        self.name = name
        self._run = run
        self._inbox = inbox
        self._later = later
        self._told = False
        self._failures = 0
        self._runs = False
        self._lock = threading.Lock()
        self._stop = threading.Event() if stopping is None else stopping
        self._thread = threading.Thread(target=self._supervised, name=name, daemon=True)

    def start(self) -> "Worker":
        """Start; returns self."""
        self._thread.start()
        return self

    def ask_to_stop(self) -> None:
        """Ask it to end; returns at once."""
        self._stop.set()

    def stop(self, timeout_s: float = 2.0) -> bool:
        """Ask it to end, and wait for it at most this long (s); whether it did."""
        self._stop.set()
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def _supervised(self) -> None:
        while not self._stop.is_set():
            well = self._later(WELL_S, self._is_well)
            self._runs = True
            if self._failures:
                well.start()
            try:
                self._run(self._stop)
                return
            except Exception as error:  # whatever it is, the loop must get it
                wait_s = self._died(one_line(error))
            finally:
                well.cancel()
            self._stop.wait(wait_s)

    def _died(self, cause: str) -> float:
        """Tell it, if it was well; returns how long to wait (s)."""
        with self._lock:
            self._runs = False
            self._failures += 1
            told, self._told = self._told, True
            failures = self._failures
        if not told:
            self._inbox.put(Died(self.name, cause))
        return AGAIN_S[min(failures, len(AGAIN_S)) - 1]

    def _is_well(self) -> None:
        with self._lock:
            if not self._runs:
                return
            self._failures = 0
            self._told = False
        self._inbox.put(Recovered(self.name))
