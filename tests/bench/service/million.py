"""How long a long journal takes: `python -m tests.bench.service.million [EVENTS] [--out FILE]`.

A journal of batches of some twenty decisions each, then the commands that read it, each a process of its own.
"""

import argparse
import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record.events import Event
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.codec import event_text
from assistant.journal.schema import migrate
from assistant.journal.store import SqliteJournal
from assistant.journal.summaries import batch_of
from tests.bench.hearing.report import table

COMMANDS = ("batches", "ledger check", "ledger verify", "sheet", "lots")


Template = list[tuple[int | None, Event]]
"""Events of one batch, each with the batch that it is noted for."""


TRAY: tuple[cmd.Command, cmd.Command] = (cmd.TrayDone(), cmd.TrayCold())
COMMANDS_OF_ONE: list[cmd.Command] = [
    cmd.SetLot("1"),
    cmd.NewBatch(Amount(2000, exact=True)),
    cmd.AddWater(Amount(450, exact=True)),
    cmd.JudgeCrumb("dry"),
    cmd.AddWater(Amount(160, exact=True)),
    cmd.JudgeCrumb("dry"),
    cmd.AddWater(Amount(20, exact=True)),
    cmd.JudgeCrumb("ready"),
    cmd.Extruding(),
    *TRAY * 6,
    cmd.CloseBatch(),
]


def batch_of_events() -> Template:
    """One batch, as a station would write it."""
    state, rules, found, now = State(), BatchRules(), Template(), 0.0
    for command in COMMANDS_OF_ONE:
        now += 600.0
        for event in decide(state, Said(command, "keyboard"), now, rules).events:
            before, state = state, evolve(state, event)
            found.append((batch_of(before, state), event))
    return found


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


def rows_of(template: Template, events: int) -> Iterator[tuple[DecisionRow, str, EventRow]]:
    """Decisions of one event each, with their chains, of as many batches as it takes."""
    entries = 1 + sum(isinstance(getattr(one, "entry", None), int) for _, one in template)
    chain, number = FIRST, 0
    for batch in range(1, events // len(template) + 1):
        for noted, one in template:
            number += 1
            event = later(one, batch, entries * (batch - 1), 15_000.0 * (batch - 1))
            decision = DecisionRow(number, 1.4e9 + 400.0 * number, 400.0 * number, "boot", 1, "kitchen")
            row = EventRow(number, batch if noted else None, *event_text(event))
            chain = chained(chain, decision, [row])
            yield decision, chain, row


def long_journal(path: Path, events: int) -> None:
    """Write the record alone; the first start makes the rest."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA synchronous = OFF")
        migrate(db)
        db.execute("BEGIN")
        for decision, chain, row in rows_of(batch_of_events(), events):
            db.execute("INSERT INTO decisions VALUES (?, ?, ?, ?, ?, ?, ?)", (*decision, chain))
            db.execute("INSERT INTO events VALUES (?, ?, ?, ?, ?)", (row[0], row[0], *row[1:]))
        db.execute("COMMIT")
    SqliteJournal.open(path, ScriptedClock(wall=1.9e9)).close()


def took(home: Path, command: str) -> tuple[float, float]:
    """Seconds of the wall and of the processor that a command takes, with the start of Python."""
    # As an installed program runs: with its modules compiled.
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(home / "compiled")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "assistant", "--home", str(home), *command.split()],
        check=True,
        stdout=subprocess.DEVNULL,
        env=environment,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - began, cpu


def start_of(path: Path) -> tuple[str, str]:
    """Seconds of the wall and of the processor that opening takes."""
    began = time.perf_counter(), time.process_time()
    SqliteJournal.open(path, ScriptedClock(wall=1.9e9)).close()
    now = time.perf_counter(), time.process_time()
    return f"{now[0] - began[0]:.2f}", f"{now[1] - began[1]:.2f}"


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
            long_journal(path, given.events)
        with closing(sqlite3.connect(path, isolation_level=None)) as db:
            db.execute("DELETE FROM snapshots")
        lines = [["start after an update that changed how events are followed", *start_of(path)]]
        lines.append(["start", *start_of(path)])
        for command in COMMANDS:
            wall, cpu = min(took(home, command) for _ in range(3))
            lines.append([f"crumbcall {command}", f"{wall:.2f}", f"{cpu:.2f}"])
        size = path.stat().st_size / 1e6
    head = f"`python -m tests.bench.service.million --out FILE`: {given.events} events, {size:.0f} MB."
    text = f"# A long journal\n\n{head}\n\n"
    text += table(["what", "s", "s of processor"], lines)
    print(text)
    if given.out is not None:
        given.out.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
