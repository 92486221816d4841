"""A station at a keyboard in a process of its own, forked from one that has everything loaded already."""

import io
import os
import select
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from assistant.__main__ import main
from assistant.app.adapters import real_clock
from assistant.app.application import open_application
from assistant.config.home import KEPT_VARIABLE, VARIABLE, Home

_CLOCK = real_clock()
LONGEST_S = 60.0
"""A station that runs longer (s) hangs."""


def nothing() -> None:
    """No fault."""


@dataclass
class Ran:
    """What a station did."""

    printed: list[bytes] = field(default_factory=list)
    """Whole lines of its output."""
    errors: str = ""
    status: int = 0
    """As `os.waitstatus_to_exitcode`: negative where a signal ended it."""
    hung: bool = False


def warm(kept: Path) -> None:
    """Load all that a station needs, and work out what is kept of the grammar."""
    os.environ[KEPT_VARIABLE] = str(kept)
    open_application(Home.find(kept / "home"))


class Station:
    """One that runs: its output is taken as it comes."""

    def __init__(
        self,
        home: Path,
        lines: Sequence[str],
        inside: Callable[[], None] = nothing,
        options: Sequence[str] = (),
    ) -> None:
        """`inside` is called in the new process before anything else; `options`: of the command, more."""
        self._given, giving = os.pipe()
        self._taking, taken = os.pipe()
        self._errors = home.with_suffix(".errors")
        home.parent.mkdir(parents=True, exist_ok=True)
        self.pid = os.fork()
        if self.pid == 0:
            os.close(giving)
            os.close(self._taking)
            self._become(home, taken, inside, options)
        os.close(self._given)
        os.close(taken)
        with suppress(BrokenPipeError):
            os.write(giving, "".join(f"{line}\n" for line in lines).encode())
        os.close(giving)
        self._output = b""
        self._ended = False

    def _become(self, home: Path, taken: int, inside: Callable[[], None], options: Sequence[str]) -> None:
        status = 1
        try:
            os.dup2(self._given, 0)
            os.dup2(taken, 1)
            os.dup2(os.open(self._errors, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), 2)
            sys.stdin = io.TextIOWrapper(io.FileIO(0, closefd=False))
            sys.stdout = io.TextIOWrapper(io.FileIO(1, "w", closefd=False), line_buffering=True)
            sys.stderr = io.TextIOWrapper(io.FileIO(2, "w", closefd=False), line_buffering=True)
            os.environ[VARIABLE] = str(home)
            inside()
            main(["type", "--json", *options])
            status = 0
        except SystemExit as end:
            status = int(end.code or 0)
        finally:
            os._exit(status)

    def read(self, until_lines: int | None = None, timeout_s: float = LONGEST_S) -> int:
        """Take output until so many lines are there, or its end; how many there are."""
        by = _CLOCK.monotonic() + timeout_s
        while not self._ended and (until_lines is None or self._output.count(b"\n") < until_lines):
            left = by - _CLOCK.monotonic()
            if left <= 0 or not select.select([self._taking], [], [], left)[0]:
                break
            block = os.read(self._taking, 65536)
            self._output += block
            self._ended = not block
        return self._output.count(b"\n")

    def signal(self, number: int) -> None:
        """Send a signal; nothing happens where it has ended."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def end(self) -> Ran:
        """Wait for its end; one that hangs is killed."""
        self.read()
        hung = not self._ended
        if hung:
            self.signal(9)
            self.read()
        _, status = os.waitpid(self.pid, 0)
        os.close(self._taking)
        *lines, _ = self._output.split(b"\n")
        errors = self._errors.read_text(errors="replace") if self._errors.exists() else ""
        return Ran(lines, errors, os.waitstatus_to_exitcode(status), hung)
