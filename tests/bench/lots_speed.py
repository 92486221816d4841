"""Measure `crumbcall lots` on a long journal. Run by hand, never as a test.

python -m tests.bench.lots_speed [EVENTS] [FOLDER]
"""

import argparse
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import by_lot
from assistant.journal.damage import KeptDecision
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.station.forecasts import BATCHES, LOTS, FlourBook, records


def fill(path: Path, events: int) -> None:
    """A journal of batches of 2,000 g, a new lot every sixteen."""
    luck, clock, rules = random.Random(5), ScriptedClock(wall=1.7e9), BatchRules()
    journal = SqliteJournal.open(path, clock)
    journal._db.execute("PRAGMA synchronous = OFF")  # nobody waits for the commits of filling
    state, _ = journal.load()
    waiting: list[KeptDecision] = []
    written = batch = 0
    while written < events:
        end = 30.5 + 1.5 * luck.random()
        commands: list[cmd.Command] = [
            cmd.SetLot(str(batch // 16)),
            cmd.NewBatch(Amount(2000, exact=True)),
            cmd.AddWater(Amount(450, exact=True)),
            cmd.JudgeCrumb("dry"),
            cmd.AddWater(Amount(round(20 * end) - 460, exact=True)),
            cmd.JudgeCrumb("dry"),
            cmd.AddWater(Amount(20, exact=True)),
            cmd.JudgeCrumb("ready"),
            cmd.Extruding(),
            *[cmd.TrayDone()] * 12,
            cmd.CloseBatch(),
        ]
        for command in commands:
            clock.move(600.0)
            decision = decide(state, Said(command, "keyboard"), clock.monotonic(), rules)
            for event in decision.events:
                state = evolve(state, event)
            written += len(decision.events)
            if decision.events:
                waiting.append(journal.decision(decision.events))
        batch += 1
        if len(waiting) > 1000 or written >= events:
            journal.append_kept(waiting)
            waiting = []
    journal.close()


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("events", nargs="?", type=int, default=1_000_000)
    parser.add_argument("folder", nargs="?", type=Path)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=given.folder) as folder:
        path = Path(folder) / "journal.sqlite"
        fill(path, given.events)
        print(f"{given.events} events, {path.stat().st_size / 1e6:.0f} MB")
        measure(path)


def measure(path: Path) -> None:
    """Times in the process, and of the whole command."""
    for _ in range(3):
        began = time.perf_counter()
        with JournalReader.open(path) as reader:
            batches = reader.lot_batches(LOTS, BATCHES)
        read = time.perf_counter()
        memory = FlourMemory(records(batches, {}))
        rows = [memory.forecast(record.lot, record.seen[-1].day) for record in by_lot(memory.records)]
        done = time.perf_counter()
        with JournalReader.open(path) as reader:
            FlourBook(reader, {}, lambda: 1.7e9, 31.0)(rows[0].lot, None)
        asked = time.perf_counter() - done
        print(
            f"{len(rows)} lots, {len(batches)} batches: read {(read - began) * 1e3:.0f} ms, "
            f"learn and forecast {(done - read) * 1e3:.0f} ms; one lot for the engine {asked * 1e3:.0f} ms"
        )
    for arguments in (["lots"], ["lots", rows[0].lot], ["--version"]):
        began = time.perf_counter()
        command = [sys.executable, "-m", "assistant", "--home", str(path.parent), *arguments]
        subprocess.run(command, check=True, capture_output=True)
        print(
            f"crumbcall {' '.join(arguments)}: {time.perf_counter() - began:.3f} s with the start of Python"
        )


if __name__ == "__main__":
    main()
