"""The shim between the station and the C library: built with the system's compiler, controlled by ctypes."""

import atexit
import ctypes
import os
import shutil
import subprocess
import sys
import tempfile
from enum import IntFlag
from pathlib import Path

_SOURCE = Path(__file__).with_name("shim.c")
_MARK = "CRUMBCALL_FAULTS"


class Op(IntFlag):
    """What can fail, and what is recorded."""

    WRITE = 1
    SYNC = 2
    OPEN = 4
    """For writing."""
    TRUNCATE = 8
    PRINTED = 16
    UNLINK = 32


def run_below_shim() -> None:
    """Begin this program again with the shim in front of the C library, unless it is there already."""
    if built := os.environ.get(_MARK):
        atexit.register(shutil.rmtree, Path(built).parent, ignore_errors=True)
        return
    folder = tempfile.mkdtemp(prefix="faults")
    library = Path(folder) / "shim.so"
    subprocess.run(["cc", "-O1", "-shared", "-fPIC", "-o", library, _SOURCE, "-ldl"], check=True)
    environment = {**os.environ, "LD_PRELOAD": str(library), _MARK: str(library)}
    module = sys.modules["__main__"].__spec__
    assert module is not None
    name = module.name.removesuffix(".__main__")
    os.execve(sys.executable, [sys.executable, "-m", name, *sys.argv[1:]], environment)


class Shim:
    """Faults of this process from now on; a process that is forked has them too."""

    def __init__(self) -> None:
        self._library = ctypes.CDLL(os.environ[_MARK])
        self._library.faults_clock.argtypes = [ctypes.c_double]
        self._library.faults_fail.argtypes = [ctypes.c_int, ctypes.c_int, ctypes.c_long, ctypes.c_long]

    def files(self, prefix: Path) -> None:
        """Only files whose path begins so are touched."""
        self._library.faults_prefix(str(prefix).encode())

    def fail(self, ops: Op, errno: int, after: int, times: int = -1) -> None:
        """Let operations fail, from the one after the next `after` on, so many `times`; -1: for ever."""
        self._library.faults_fail(int(ops), errno, after, times)

    def slow(self, seconds: float) -> None:
        """Let each sync take this much longer (s)."""
        self._library.faults_slow(ctypes.c_long(int(seconds * 1e6)))

    def hang(self, after: int, seconds: int = -1) -> None:
        """Let a sync take so long (s), that after the next `after` since the first answer; -1: for ever."""
        self._library.faults_hang(ctypes.c_long(after), ctypes.c_long(seconds))

    def record(self, descriptor: int) -> None:
        """Write down what is done to the files, and what is printed."""
        self._library.faults_record(descriptor)

    def clock(self, offset_s: float) -> None:
        """Set the wall clock wrong by this much (s)."""
        self._library.faults_clock(offset_s)
