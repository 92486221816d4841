"""Rows of what a system under trial was found to do, and the table of them."""

import time
from abc import ABC, abstractmethod
from datetime import UTC, datetime
from pathlib import Path

from assistant.clock import RealClock

LONGEST = 110
"""Most characters of what was found that a row holds."""


class UnderTrial(ABC):
    """A system that commands are given to; `rows`: what, whether it is as it should be, what was found."""

    def __init__(self) -> None:
        self.rows: list[tuple[str, str, str]] = []

    @abstractmethod
    def sh(self, command: str) -> tuple[int, str]:
        """Run a command; its status, and what it printed."""

    def row(self, what: str, good: bool, found: str) -> None:
        """Note one result, and print it."""
        line = found.splitlines()[-1] if found else ""
        self.rows.append((what, "yes" if good else "NO", line.replace("|", "/")[:LONGEST]))
        print(f"{'ok ' if good else 'NO '} {what}: {line}", flush=True)
        if not good:
            print(found[-3000:], flush=True)

    def expect(self, what: str, command: str, status: int = 0, holds: str = "", **how: str) -> str:
        """Run a command that should end with this status and print this; `how`: more for `sh`."""
        begin = time.perf_counter()
        found_status, found = self.sh(command, **how)
        took = f" ({time.perf_counter() - begin:.0f} s)"
        self.row(what, found_status == status and holds in found, f"{found}{took}")
        return found


def write_rows(out: Path, head: str, rows: list[tuple[str, str, str]]) -> None:
    """Add a table with today's date to a file."""
    day = datetime.fromtimestamp(RealClock().wall(), UTC).date()
    lines = [f"## {head}, {day}", "", "| what | as it should | last line |", "|---|---|---|"]
    lines += [f"| {' | '.join(row)} |" for row in rows]
    with out.open("a", encoding="utf-8") as written:
        written.write("\n".join([*lines, "", ""]))
