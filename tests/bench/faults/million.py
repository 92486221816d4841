"""How long a long journal takes: `python -m tests.bench.faults.million [EVENTS] [--out FILE]`.

A journal of batches of 21 decisions each, then the commands that read it, each as a process of its own.
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.batch.record.events import Event
from assistant.clock import ScriptedClock
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from tests.bench.hearing.report import table
from tests.bench.lots_speed import fill

AT_ONCE = 20_000
COMMANDS = ("batches", "ledger check", "ledger verify", "sheet", "lots")


def batch_of_events(folder: Path) -> list[list[Event]]:
    """Decisions of one batch."""
    fill(folder / "one.sqlite", 1)
    with JournalReader.open(folder / "one.sqlite") as reader:
        return [[event] for _, event in reader.read()]


def later(event: Event, batch: int, entries: int, seconds: float) -> Event:
    """The same event in a later batch, which so many entries come before."""
    values: dict[str, Any] = {"at": event.at + seconds}
    if hasattr(event, "batch"):
        values["batch"] = batch
    if isinstance(getattr(event, "entry", None), int):
        values["entry"] = getattr(event, "entry") + entries  # noqa: B009
    if hasattr(event, "lot"):
        values["lot"] = str(batch // 16)
    return replace(event, **values)


def decisions(template: list[list[Event]], events: int) -> Iterator[list[Event]]:
    """Decisions of as many batches as it takes."""
    entries = 1 + sum(isinstance(getattr(one, "entry", None), int) for made in template for one in made)
    per_batch = sum(map(len, template))
    for number in range(1, events // per_batch + 1):
        for made in template:
            yield [later(one, number, entries * (number - 1), 9000.0 * (number - 1)) for one in made]


def long_journal(path: Path, events: int, folder: Path) -> None:
    """Write it."""
    clock = ScriptedClock(wall=1.4e9)
    with closing(SqliteJournal.open(path, clock)) as journal:
        waiting = []
        for made in decisions(batch_of_events(folder), events):
            clock.move(400.0)
            waiting.append(journal.decision(made))
            if len(waiting) == AT_ONCE:
                journal.append_kept(waiting)
                waiting = []
        journal.append_kept(waiting)


def took(home: Path, command: str) -> tuple[float, float]:
    """Seconds of the wall and of the processor that a command takes, with the start of Python."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "assistant", "--home", str(home), *command.split()],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - began, cpu


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("events", nargs="?", type=int, default=1_000_000)
    parser.add_argument("--folder", type=Path, help="where the journal lies, and stays")
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        home = given.folder or Path(folder)
        path = home / "journal.sqlite"
        if not path.exists():
            long_journal(path, given.events, Path(folder))
        lines = []
        began = time.perf_counter(), time.process_time()
        SqliteJournal.open(path, ScriptedClock(wall=1.9e9)).close()
        now = time.perf_counter(), time.process_time()
        lines.append(["start", f"{now[0] - began[0]:.2f}", f"{now[1] - began[1]:.2f}"])
        for command in COMMANDS:
            wall, cpu = min(took(home, command) for _ in range(3))
            lines.append([f"crumbcall {command}", f"{wall:.2f}", f"{cpu:.2f}"])
        size = path.stat().st_size / 1e6
    text = f"# A long journal\n\n{given.events} events, {size:.0f} MB.\n\n"
    text += table(["what", "s", "s of processor"], lines)
    print(text)
    if given.out is not None:
        given.out.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
