"""What an export of a long journal takes: `python -m tests.bench.exports [EVENTS...] [--out FILE]`.

The same journal as in `tests.bench.service.million`, short and long, written as CSV, JSON Lines and workbook,
each by a process of its own: time, memory at its most, and size of what was written. One run each.
"""

import argparse
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.bench.hearing.report import table
from tests.bench.service.million import long_journal

FORMS = {"CSV": ["csv"], "JSON Lines": ["jsonl", "--format", "jsonl"], "workbook": ["all.xlsx"]}
"""What is written -> its target, and options."""


def size_mb(target: Path) -> float:
    """Of a file, or of all in a folder."""
    files = target.iterdir() if target.is_dir() else [target]
    return sum(one.stat().st_size for one in files) / 1e6


def exported(home: Path, target: Path, options: list[str]) -> list[str]:
    """A line of the table: s, s of the processor, MB of memory, MB on disk, and what it said."""
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "assistant", "--home", str(home), "ledger", "export", str(target), *options],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    said = process.stdout.read().strip()
    _, status, used = os.wait4(process.pid, 0)
    if status:
        raise SystemExit(f"the export into {target.name} failed")
    wall = time.perf_counter() - began
    figures = (wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, size_mb(target))
    return [*(f"{one:.0f}" for one in figures), said.rpartition(": ")[2].partition(" rows")[0]]


SIZES = (20_000, 1_000_000)
"""Events of the journals, where none are named: memory must not grow with them."""
HEAD = (
    "events", "journal, MB", "as", "s", "s of processor", "MB of memory, at most", "MB written", "rows",
)  # fmt: skip
TEXT = """# Export of a long journal

`python -m tests.bench.exports --out tests/bench/exports/EXPORTS.md`, on {cores} cores of an x86 machine
shared with others, Python {python}. Each line is a process of its own, one run; others' work is in its
time, but not in its time of the processor. The aim is memory that does not grow with the journal.

{table}
"""


def lines_of(events: int) -> Iterator[list[str]]:
    """The lines of the table for a journal of so many events."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        long_journal(home / "journal.sqlite", events)
        size = size_mb(home / "journal.sqlite")
        for name, (to, *more) in FORMS.items():
            yield [f"{events}", f"{size:.0f}", name, *exported(home, home / to, more)]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("events", nargs="*", type=int, default=SIZES)
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    lines = []
    for events in given.events:
        for line in lines_of(events):
            lines.append(line)
            print(*line, sep="\t", flush=True)
    text = TEXT.format(
        cores=os.cpu_count(), python=platform.python_version(), table=table(HEAD, lines).rstrip()
    )
    print(text)
    if given.out is not None:
        given.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
