"""A process of our own at the other end of a socket, for what may hang or crash inside a library.

What hangs in C code can't be interrupted from Python, and may hold the whole process; a process of its own
can be ended at any time. Each end sends pickled values: both are this program, nobody else has the socket.
"""

import ctypes
import os
import pickle
import select
import signal
import socket
import struct
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from threading import Lock, Thread
from typing import Any

from assistant.errors import ApartError

SEND_S = 3.0
"""The other end takes what is sent within this time (s), or it hangs."""
KILL_S = 2.0
"""A process that was killed is waited for at most this long (s): one that hangs in a driver stays a while."""
MOST_LINES = 20
"""Lines of a process's own messages that are shown; a library in an endless loop writes 20 MB a second."""
_LONGEST_LINE = 400
_LENGTH = struct.Struct("!Q")
_PR_SET_PDEATHSIG = 1


class Channel:
    """Values to and from the other end; one thread receives, any may send. Raises ApartError."""

    def __init__(self, end: socket.socket, name: str) -> None:
        self._end = end
        self._name = name
        self._sending = Lock()

    def send(self, value: object, within_s: float = SEND_S) -> None:
        """Send a value; ApartError where it is not taken in time, or the other end is gone."""
        data = pickle.dumps(value, protocol=pickle.HIGHEST_PROTOCOL)
        try:
            with self._sending:
                self._end.settimeout(within_s)
                self._end.sendall(_LENGTH.pack(len(data)) + data)
        except OSError as error:
            raise self._gone(error) from error

    def ready(self, within_s: float) -> bool:
        """Whether something can be received, the end of the other end too; waits at most this long (s)."""
        try:
            return bool(select.select([self._end], [], [], within_s)[0])
        except (OSError, ValueError) as error:  # closed by another thread
            raise self._gone(error) from error

    def receive(self, within_s: float) -> Any:
        """The next value; ApartError where none comes in time (s), or the other end is gone."""
        if not self.ready(within_s):
            raise ApartError(f"the {self._name} does not answer for {within_s:g} s")
        try:
            (length,) = _LENGTH.unpack(self._exactly(_LENGTH.size))
            return pickle.loads(self._exactly(length))
        except OSError as error:
            raise self._gone(error) from error

    def close(self) -> None:
        """Let the socket go; whoever waits at it is woken."""
        with suppress(OSError):
            self._end.shutdown(socket.SHUT_RDWR)
        self._end.close()

    def _exactly(self, size: int) -> bytes:
        self._end.settimeout(SEND_S)
        data = bytearray()
        while len(data) < size:
            part = self._end.recv(min(1 << 20, size - len(data)))
            if not part:
                raise ConnectionResetError("it ended")
            data += part
        return bytes(data)

    def _gone(self, error: Exception) -> ApartError:
        if isinstance(error, TimeoutError):
            return ApartError(f"the {self._name} hangs: it takes nothing")
        why = "it ended" if isinstance(error, ConnectionError) else error
        return ApartError(f"the {self._name} is gone ({why})")


class Apart(Channel):
    """Starts `python -m module arguments...` with the other end of a channel.

    `name`: what messages call it. `show` gets the first `MOST_LINES` lines that the process writes by itself;
    None: they go to standard error, each once for as long as the station runs.
    """

    def __init__(
        self, module: str, *arguments: str, name: str, show: Callable[[str], None] | None = None
    ) -> None:
        ours, theirs = socket.socketpair()
        super().__init__(ours, name)
        self._show = show or _ONCE
        with theirs:
            end = theirs.fileno()
            self._process = subprocess.Popen(
                [sys.executable, "-m", module, f"{end}:{os.getpid()}", *arguments],
                pass_fds=[end],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                start_new_session=True,  # Ctrl-C is for the station, which ends its own processes
            )
        self._showing = Thread(target=self._forward, name=f"{name}, its messages", daemon=True)
        self._showing.start()

    @property
    def pid(self) -> int:
        """Of the process."""
        return self._process.pid

    def kill(self) -> None:
        """End it, whatever it is doing; returns within `KILL_S` or so."""
        self._process.kill()
        self.close()
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(KILL_S)
            self._showing.join(KILL_S)

    def _forward(self) -> None:
        """Read all that it writes, so that it never waits for us, and show the beginning."""
        assert self._process.stderr is not None
        shown = 0
        with self._process.stderr as written:
            while line := written.readline(_LONGEST_LINE):
                shown += 1
                if shown <= MOST_LINES:
                    self._show(line.decode(errors="replace").rstrip("\n"))
                elif shown == MOST_LINES + 1:
                    self._show(f"... what else the {self._name} writes is not shown")


def _to_stderr(text: str) -> None:
    sys.stderr.write(text)


class Once:
    """Shows each line once, `most` of them: a device that is looked for every ten seconds says the same."""

    def __init__(self, write: Callable[[str], object] = _to_stderr, most: int = 200) -> None:
        self._write = write
        self._most = most
        self._shown: set[str] = set()

    def __call__(self, line: str) -> None:
        """Show it, if it is new."""
        if line not in self._shown and len(self._shown) < self._most:
            self._shown.add(line)
            with suppress(OSError, ValueError):
                self._write(f"{line}\n")


_ONCE = Once()


def inside(first_argument: str, name: str = "station") -> Channel:
    """Our end, in the process that was started.

    It dies with the thread that started it (prctl(2)), however that ends and whatever it is doing then; the
    signals by which a service or a terminal ends the station are left to the station.
    """
    end, parent = first_argument.split(":")
    for one in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT):
        signal.signal(one, signal.SIG_IGN)
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != int(parent):  # it was gone before we could ask for that
        raise SystemExit(0)
    return Channel(socket.socket(fileno=int(end)), name)
