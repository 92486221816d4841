"""The fault table: `python -m tests.bench.faults [--runs N] [--only WORD] [--out FILE]`.

Each row hurts real stations at a keyboard (`crumbcall type`), forked from one process that has everything
loaded, with their journal on this machine's disk. Not under test here: microphones, voices, damage to files.
"""

import argparse
import errno
import gc
import signal
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from random import Random

from assistant.app.adapters import real_clock
from tests.bench.faults import rows
from tests.bench.faults.chaos import chaos
from tests.bench.faults.rows import Bench, Tally
from tests.bench.faults.shim import Op, Shim, run_below_shim
from tests.bench.faults.typed import warm
from tests.bench.hearing.report import table

HEAD = ["fault", "how", "runs", "acknowledged", "lost", "twice", "wrong", "hung", "tracebacks", "said"]
Row = tuple[str, int, Callable[[Bench, int], Tally]]
ROWS: tuple[Row, ...] = (
    ("killed", 10_000, rows.killed),
    ("power", 5_000, rows.power_lost),
    *(
        (f"signal {one.name}", 200, partial(rows.signalled, number=one))
        for one in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT)
    ),
    ("full", 200, partial(rows.disk_fails, what="full disk", ops=Op.WRITE, number=errno.ENOSPC)),
    (
        "full for a while",
        200,
        partial(rows.disk_fails, what="full disk", ops=Op.WRITE, number=errno.ENOSPC, heals=True),
    ),
    (
        "full at the start",
        50,
        partial(rows.disk_fails, what="full disk", ops=Op.WRITE, number=errno.ENOSPC, start=True),
    ),
    ("failing sync", 200, partial(rows.disk_fails, what="failing disk", ops=Op.SYNC, number=errno.EIO)),
    (
        "failing sync for a while",
        200,
        partial(rows.disk_fails, what="failing disk", ops=Op.SYNC, number=errno.EIO, heals=True),
    ),
    ("failing write", 200, partial(rows.disk_fails, what="failing disk", ops=Op.WRITE, number=errno.EIO)),
    (
        "read-only",
        50,
        partial(
            rows.disk_fails,
            what="read-only file system",
            ops=Op.OPEN | Op.WRITE | Op.TRUNCATE,
            number=errno.EROFS,
            start=True,
        ),
    ),
    (
        "read-only later",
        100,
        partial(
            rows.disk_fails, what="read-only file system", ops=Op.WRITE | Op.TRUNCATE, number=errno.EROFS
        ),
    ),
    ("slow", 100, rows.slow_disk),
    ("hangs", 50, rows.hanging_disk),
    ("hangs for a while", 50, partial(rows.hanging_disk, seconds=5)),
    ("clock", 500, rows.clock_jumps),
    ("starved", 50, rows.starved),
    ("memory", 200, rows.little_memory),
    ("two stations", 50, rows.two_stations),
    ("chaos", 10, chaos),
)


def main() -> None:
    """Hurt, count, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.faults", description=__doc__, epilog="Exit status 1: something was lost."
    )
    parser.add_argument(
        "--runs", type=float, default=1.0, help="of the usual number of runs, this many times"
    )
    parser.add_argument("--only", nargs="*", default=[""], help="rows whose name begins so")
    parser.add_argument("--seed", default="faults")
    parser.add_argument("--folder", type=Path, help="where the homes lie (a disk, not memory)")
    parser.add_argument(
        "--out", type=Path, help="write the table into this file too; rows of it that were not run stay"
    )
    given = parser.parse_args()
    run_below_shim()
    lines, problems, harmless = [], [], True
    with tempfile.TemporaryDirectory(dir=given.folder) as folder:
        warm(Path(folder) / "kept")
        gc.freeze()  # what is loaded is shared with the processes that are forked
        for name, usual, row in ROWS:
            if not any(name.startswith(word) for word in given.only):
                continue
            begin = real_clock().monotonic()
            bench = Bench(Path(folder) / name.replace(" ", "_"), Shim(), Random(f"{given.seed} {name}"))
            bench.folder.mkdir()
            tally = row(bench, max(1, round(usual * given.runs)))
            lines.append(tally.line())
            harmless = harmless and tally.harmless
            problems += [f"- {name}: {one}" for one in dict.fromkeys(tally.problems)]
            print(f"{name}: {tally.line()[2:9]} in {real_clock().monotonic() - begin:.0f} s", flush=True)
    measured = table(HEAD, lines)
    if given.out is not None and given.out.exists() and given.only != [""]:
        before = given.out.read_text(encoding="utf-8")
        measured = joined(before, measured)
        earlier = (line for line in before.splitlines() if line.startswith("- ") and ": " in line)
        problems += [line for line in earlier if not line[2:].startswith(tuple(given.only))]
    text = "\n".join(["# Faults\n", INTRODUCTION, measured, "Journals that told of a problem:\n"])
    text += "\n".join(["", *(problems or ["- none"]), ""])
    print(text)
    if given.out is not None:
        given.out.write_text(text, encoding="utf-8")
    sys.exit(0 if harmless else 1)


def joined(before: str, measured: str) -> str:
    """The table of an earlier run with the rows that were measured now in their places, new ones behind."""
    rows = {_fault(line): line for line in before.splitlines() if line.startswith("|")}
    rows |= {_fault(line): line for line in measured.splitlines()}
    return "\n".join([*rows.values(), ""])


def _fault(line: str) -> str:
    """The first two cells of a row: what was done, and how."""
    return "|".join(line.split("|")[:3])


INTRODUCTION = """\
Made by `python -m tests.bench.faults`; nothing here is typed by hand. `acknowledged`: pours of which the cook
was told that they are in. `lost`: of those, not in the journal afterwards. `twice`: in it more than once.
`wrong`: in it though nobody said so, or in another order. `hung`: had to be killed. `said`: what the station
said of it, the first time.
"""


if __name__ == "__main__":
    main()
