"""A thread that touches the disk for the station, which waits for it no longer than a cook would.

A card that is dying may keep a write for minutes, or for ever: nothing can end a call that hangs in the
kernel. Whoever asked goes on without it, and looks later what became of it.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Any, TypeVar

from assistant.errors import StorageError

ANSWER_S = 3.0
"""A disk that takes longer for a write (s) is gone on without; a worn card may think for a second or two."""
CLOSE_S = 10.0
"""The same at the end (s), when the log is written into the file."""

T = TypeVar("T")


class HangsError(StorageError):
    """The storage neither takes nor refuses."""


@dataclass(slots=True)
class _Asked:
    """One thing to do."""

    act: Callable[[], Any]
    done: threading.Event = field(default_factory=threading.Event)
    found: Any = None
    error: BaseException | None = None


def _wait(done: threading.Event, seconds: float) -> bool:
    return done.wait(seconds)


class InTime:
    """One thing at a time, on a thread of its own, which does not keep the process from ending.

    `wait`: waits for an event at most so long (s), and says whether it came.
    """

    def __init__(self, wait: Callable[[threading.Event, float], bool] = _wait) -> None:
        self._wait = wait
        self._asked: SimpleQueue[_Asked] = SimpleQueue()
        self._late: _Asked | None = None
        self._thread: threading.Thread | None = None

    @property
    def hangs(self) -> bool:
        """Whether something that was asked is still not done."""
        return self._late is not None and not self._late.done.is_set()

    def do(self, act: Callable[[], T], within_s: float = ANSWER_S) -> T:
        """Do it, and raise what it raises. Raises HangsError where it takes longer (s), or one before hangs.

        What took too long is done all the same once the disk answers.
        """
        if self.hangs:
            raise HangsError("the disk does not answer; check it")
        if not self._runs():
            return act()
        asked = _Asked(act)
        self._asked.put(asked)
        if not self._wait(asked.done, within_s):
            self._late = asked
            raise HangsError("the disk does not answer; check it")
        if asked.error is not None:
            raise asked.error
        found: T = asked.found
        return found

    def _runs(self) -> bool:
        """Whether there is a thread for it; where there is no memory for one the disk is waited for."""
        if self._thread is None:
            thread = threading.Thread(target=self._run, name="journal", daemon=True)
            try:
                thread.start()
            except RuntimeError:
                return False
            self._thread = thread
        return True

    def settle(self, within_s: float = ANSWER_S) -> None:
        """Wait for what is late, at most so long (s): at the end there is nothing better to do."""
        if self._late is not None:
            self._wait(self._late.done, within_s)

    def _run(self) -> None:
        while True:
            asked = self._asked.get()
            try:
                asked.found = asked.act()
            except BaseException as error:
                asked.error = error
            asked.done.set()
