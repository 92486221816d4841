"""A queue of CUPS: the page goes to `lp` as PDF, within a time. What does not work is one DeviceError."""

import os
import subprocess
from collections.abc import Callable, Sequence

from assistant.errors import DeviceError
from assistant.ports import Pages

Run = Callable[[Sequence[str], bytes, float], "subprocess.CompletedProcess[bytes]"]
"""Runs a command with this input, for at most so long (s)."""


def run_lp(command: Sequence[str], given: bytes, limit_s: float) -> "subprocess.CompletedProcess[bytes]":
    """Run a command of this machine."""
    english = {**os.environ, "LC_ALL": "C"}
    return subprocess.run(
        command, input=given, capture_output=True, timeout=limit_s, check=False, env=english
    )


class CupsQueue:
    """ports.Printer for a queue; `queue` "": the usual one."""

    def __init__(self, queue: str, *, limit_s: float, run: Run = run_lp) -> None:
        self._queue = queue
        self._limit_s = limit_s
        self._run = run

    def look(self) -> str:
        """Ask CUPS for the queue. Raises DeviceError."""
        done = self._done(["lpstat", *(["-p", self._queue] if self._queue else ["-d"])], b"")
        said = done.stdout.decode(errors="replace").strip().partition("\n")[0].rstrip(".")
        if not self._queue and ":" not in said:  # "system default destination: NAME", else that there is none
            raise DeviceError("CUPS has no usual queue; name one, or set it with lpoptions -d.")
        return said

    def print_pages(self, pages: Pages) -> None:
        """Hand the pages to the queue. Raises DeviceError."""
        chosen = ["-d", self._queue] if self._queue else []
        title = "".join(sign if sign.isprintable() else " " for sign in pages.title)[:100]
        self._done(["lp", *chosen, "-t", title, "-o", f"media={pages.media}", "--", "-"], pages.pdf)

    def _done(self, command: Sequence[str], given: bytes) -> "subprocess.CompletedProcess[bytes]":
        """Run a command of CUPS; whatever is wrong with it is a DeviceError."""
        named = f"the queue {self._queue}" if self._queue else "the usual queue of CUPS"
        try:
            done = self._run(command, given, self._limit_s)
        except FileNotFoundError:
            raise DeviceError(f"no printer: {command[0]} is missing; apt-get install cups-client.") from None
        except subprocess.TimeoutExpired:
            raise DeviceError(f"{named} did not answer within {self._limit_s:g} s; see lpstat -t.") from None
        except OSError as error:
            raise DeviceError(f"{command[0]} can't be run ({error.strerror}).") from None
        if done.returncode != 0:
            said = done.stderr.decode(errors="replace").strip().splitlines()
            last = said[-1] if said else f"exit status {done.returncode}"
            reason = last.removeprefix(f"{command[0]}: ").rstrip(".")
            raise DeviceError(f"{named} does not print ({reason}); see lpstat -t.")
        return done
