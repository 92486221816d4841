"""A station at the virtual sound card, and the processes that it runs."""

import json
import os
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from queue import Empty, Queue
from threading import Thread
from typing import Any

from tests.audio.listen_process import AT_THE_CARD, listen_process

_PROC = Path("/proc")
_KINDS = {"recogniser_process": "recogniser", "voice_apart": "voice"}


@dataclass(slots=True)
class Running:
    """`listen`, as another process."""

    process: "subprocess.Popen[str]"
    began: float
    lines: "Queue[dict[str, Any]]" = field(default_factory=Queue)

    def keys(self, until: str, within_s: float) -> list[tuple[float, str]]:
        """What is said up to a key, each with its time since the start (s); without it, all of that time."""
        found: list[tuple[float, str]] = []
        end = time.perf_counter() + within_s
        while (left := end - time.perf_counter()) > 0 and until not in [key for _, key in found]:
            with suppress(Empty):
                turn = self.lines.get(timeout=left)
                at = time.perf_counter() - self.began
                found += [(at, reply["key"]) for reply in turn["replies"]]
        return found

    def child(self, kind: str, within_s: float = 0.0) -> int:
        """Process id of one of its own: recogniser, voice, microphone, speaker."""
        end = time.perf_counter() + within_s
        while True:
            for pid in children(self.process.pid):
                if kind_of(pid) == kind:
                    return pid
            if time.perf_counter() >= end:
                raise LookupError(kind)
            time.sleep(0.05)  # noqa: TID251 - a benchmark, in real time

    def end(self, sent: signal.Signals = signal.SIGTERM) -> tuple[int, float, list[int]]:
        """Exit status, how long the end took (s), and what of its processes is left."""
        mine = children(self.process.pid)
        begin = time.perf_counter()
        self.process.send_signal(sent)
        status = self.process.wait(timeout=60)
        took = time.perf_counter() - begin
        until = time.perf_counter() + 1.0  # the kernel ends those that were just started, when it gets to it
        while (left := [pid for pid in mine if not _is_dead(pid)]) and time.perf_counter() < until:
            time.sleep(0.05)  # noqa: TID251 - a benchmark, in real time
        return status, took, left


@contextmanager
def listening(home: Path, *, settings: str | None = None) -> Iterator[Running]:
    """A station in that home, ended at the end."""
    process = listen_process(home, AT_THE_CARD if settings is None else settings, stderr=subprocess.DEVNULL)
    running = Running(process, time.perf_counter())

    def read() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            running.lines.put(json.loads(line))

    Thread(target=read, daemon=True).start()
    try:
        yield running
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()


def children(pid: int) -> list[int]:
    """Processes that this one started."""
    found = []
    for folder in _PROC.iterdir():
        with suppress(OSError, ValueError):
            if int((folder / "stat").read_text().rsplit(")", 1)[1].split()[1]) == pid:
                found.append(int(folder.name))
    return found


def kind_of(pid: int) -> str:
    """Which process of a station it is; "" for none."""
    with suppress(OSError):
        words = (_PROC / str(pid) / "cmdline").read_text().split("\0")
        module = next((word.rpartition(".")[2] for word in words if word.startswith("assistant.")), "")
        return _KINDS.get(module) or next((one for one in words if one in ("microphone", "speaker")), "")
    return ""


def memory_mb(pid: int) -> tuple[float, float]:
    """Resident memory, and its share where pages are shared with others (MB)."""
    lines = (_PROC / str(pid) / "smaps_rollup").read_text().splitlines()
    found = {line.split(":")[0]: line.split()[1] for line in lines[1:]}
    return int(found["Rss"]) / 1000, int(found["Pss"]) / 1000


def cpu_s(pid: int) -> float:
    """CPU time that it used (s)."""
    fields = (_PROC / str(pid) / "stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _is_dead(pid: int) -> bool:
    with suppress(OSError):
        return (_PROC / str(pid) / "stat").read_text().rsplit(")", 1)[1].split()[0] == "Z"
    return True
