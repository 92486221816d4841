"""The damage table: `python -m tests.bench.faults.damage [--runs N] [--events N] [--out FILE]`.

A journal of many batches, after an orderly end and as a power cut leaves it with its log; in each
run a fresh copy is harmed in one place: a bit is flipped, a page is lost, or it is cut. Then all that can
be asked of it is asked: first by a reader, then by a station that starts on it.

- silently wrong: another event, time, account, list or lot than was written, and nobody said so;
- told: it was said that something is damaged, lost or mended; unharmed: nothing that is read was hit;
- decisions saved: of all that there were, over all runs.
"""

import argparse
import sqlite3
import struct
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from random import Random
from typing import Any

from assistant.batch.record.events import Event, LotNamed
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.errors import JournalError
from assistant.journal.reader import JournalReader, OpenJournal
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from tests.bench.hearing.report import table
from tests.bench.lots_speed import fill

PAGE = 4096
TAILS = ("", "-wal", ".end")
HEAD = ["where", "what", "runs", "silently wrong", "told", "unharmed", "mended", "decisions saved, of"]
Harm = Callable[[Path, Random], None]


@dataclass
class Truth:
    """What a journal says while nothing is wrong with it."""

    files: dict[str, bytes]
    story: list[tuple[Stamp, Event]]
    answers: dict[str, Any]
    decisions: int


@dataclass
class Row:
    """What a line of the table counted."""

    where: str
    what: str
    runs: int = 0
    wrong: int = 0
    told: int = 0
    unharmed: int = 0
    mended: int = 0
    saved: int = 0
    of: int = 0
    examples: list[str] = field(default_factory=list)

    @property
    def cells(self) -> list[str | int]:
        """Of the table."""
        share = f"{self.saved} of {self.of} ({100 * self.saved / max(1, self.of):.2f} %)"
        return [self.where, self.what, self.runs, self.wrong, self.told, self.unharmed, self.mended, share]


def answers(journal: OpenJournal) -> Iterator[tuple[str, Callable[[], Any]]]:
    """Everything that is asked of a journal."""
    yield "story", lambda: list(journal.read())
    yield "state", journal.load
    yield "batches", journal.batches
    yield "lots", journal.lot_batches
    yield "flour", journal.flour_by_lot
    yield "year", lambda: journal.tallies(0.0, 1e12)
    for number in (1, 2, 5):
        yield f"batch {number}", partial(journal.batch, number)


def made(folder: Path, events: int, *, closed: bool) -> Truth:
    """A journal and what it says; with its log where it is not closed."""
    path = folder / "journal.sqlite"
    fill(path, events)
    clock = ScriptedClock(wall=1.8e9)
    with closing(SqliteJournal.open(path, clock)) as journal:
        if not closed:
            for number in range(40):
                clock.move(30.0)
                journal.append([LotNamed(at=clock.monotonic(), lot=f"{number}")])
        files = {} if closed else _files(path)
        story = list(journal.read())
        said = {name: ask() for name, ask in answers(journal)}
        (decisions,) = journal._db.execute("SELECT count(*) FROM decisions").fetchone()
    return Truth(files or _files(path), story, said, decisions)


def _files(path: Path) -> dict[str, bytes]:
    found = {tail: path.with_name(path.name + tail) for tail in TAILS}
    return {tail: one.read_bytes() for tail, one in found.items() if one.exists()}


def tried(truth: Truth, path: Path, harm: Harm, luck: Random, row: Row) -> None:
    """Harm a fresh copy, ask it everything, and count what became of it."""
    for one in path.parent.iterdir():
        one.unlink()
    for tail, content in truth.files.items():
        path.with_name(path.name + tail).write_bytes(content)
    harm(path, luck)
    row.runs += 1
    try:
        _asked(truth, path, row)
    except Exception as error:
        row.wrong += 1
        row.examples.append(f"ended by {error!r}")


def _asked(truth: Truth, path: Path, row: Row) -> None:
    row.of += truth.decisions
    wrong, told = [], False
    try:
        with JournalReader.open(path) as reader:
            for name, ask in answers(reader):
                try:
                    wrong += [f"reader: {name}"] if ask() != truth.answers[name] else []
                except JournalError:
                    told = True
    except JournalError:
        told = True
    try:
        journal = SqliteJournal.open(path, ScriptedClock(wall=1.8e9 + 9e4))
    except JournalError as error:
        row.examples.append(f"no start: {error}")
        row.told += 1
        return
    with closing(journal):
        told = told or bool(journal.set_aside or journal.mended or journal.moved_aside)
        row.mended += bool(journal.mended)
        row.saved += _saved(journal)
        try:
            wrong += _station_wrong(journal, truth)
        except JournalError as error:
            row.examples.append(f"station: {error}")
            told = True
    row.told += told
    row.unharmed += not told and not wrong
    row.wrong += bool(wrong)
    row.examples += wrong[:1]


def _saved(journal: SqliteJournal) -> int:
    (count,) = journal._db.execute(
        """SELECT count(*) FROM decisions d WHERE NOT EXISTS
        (SELECT 1 FROM quarantine q WHERE d.decision BETWEEN q.decision AND q.last_decision)"""
    ).fetchone()
    return int(count)


def _station_wrong(journal: SqliteJournal, truth: Truth) -> list[str]:
    story = list(journal.read())
    aside = {at for one in journal.set_aside for at in range(one.sequence, one.last_sequence + 1)}
    expected = [one for one in truth.story if one[0].sequence not in aside]
    if story != expected:
        return ["station: story"]
    if aside:
        return [] if journal.load()[0] == _replayed(journal) else ["station: state"]
    return [f"station: {name}" for name, ask in answers(journal) if ask() != truth.answers[name]]


def _replayed(journal: SqliteJournal) -> Any:
    passages = list(journal.history())
    return passages[-1][-1] if passages else State()


def regions(db: Path) -> dict[str, list[int]]:
    """Pages of the file (from 0) by what lies in them."""
    content, found = db.read_bytes(), dict[str, list[int]]()
    with closing(sqlite3.connect(db)) as open_db:
        roots = open_db.execute("SELECT name, rootpage FROM sqlite_schema WHERE rootpage > 0").fetchall()
    for name, root in roots:
        found[name] = list(_tree(content, root))
    owned = {page for pages in found.values() for page in pages}
    found["first page"] = [0]
    rest = [page for page in range(len(content) // PAGE) if page not in owned and page]
    if rest:
        found["free and overflow pages"] = rest
    return found


def _tree(content: bytes, number: int) -> Iterator[int]:
    page = content[(number - 1) * PAGE : number * PAGE]
    yield number - 1
    if page[0] in (2, 5):
        (cells,) = struct.unpack_from(">H", page, 3)
        for cell in range(cells):
            (at,) = struct.unpack_from(">H", page, 12 + 2 * cell)
            yield from _tree(content, struct.unpack_from(">I", page, at)[0])
        yield from _tree(content, struct.unpack_from(">I", page, 8)[0])


def flip(tail: str, begin: int, end: int) -> Harm:
    """Flip one bit in this part of a file."""

    def harm(path: Path, luck: Random) -> None:
        file = path.with_name(path.name + tail)
        content = bytearray(file.read_bytes())
        content[luck.randrange(begin, min(end, len(content)))] ^= 1 << luck.randrange(8)
        file.write_bytes(content)

    return harm


def flip_in_pages(pages: list[int]) -> Harm:
    """Flip one bit in one of these pages."""

    def harm(path: Path, luck: Random) -> None:
        page = luck.choice(pages)
        flip("", page * PAGE, (page + 1) * PAGE)(path, luck)

    return harm


def cut(tail: str) -> Harm:
    """Cut a file anywhere."""

    def harm(path: Path, luck: Random) -> None:
        file = path.with_name(path.name + tail)
        content = file.read_bytes()
        file.write_bytes(content[: luck.randrange(len(content))])

    return harm


def lost_page(path: Path, luck: Random) -> None:
    """A page that the disk gives back as zeros, ones or something."""
    content = bytearray(path.read_bytes())
    page = luck.randrange(len(content) // PAGE)
    fill_with = luck.choice((b"\0" * PAGE, b"\xff" * PAGE, luck.randbytes(PAGE)))
    content[page * PAGE : (page + 1) * PAGE] = fill_with
    path.write_bytes(content)


def rows(closed: Truth, cut_off: Truth, folder: Path) -> Iterator[tuple[Truth, Row, Harm, float]]:
    """Lines of the table, with their share of the runs."""
    kept = folder / "regions.sqlite"
    kept.write_bytes(closed.files[""])
    for name, pages in sorted(regions(kept).items()):
        share = 4.0 if name in ("events", "decisions") else 1.0
        yield closed, Row(f"file, {name}", "one bit"), flip_in_pages(pages), share
    yield closed, Row("file", "a page lost"), lost_page, 1.0
    yield closed, Row("file", "cut"), cut(""), 1.0
    yield closed, Row("note of the end", "one bit"), flip(".end", 0, 256), 0.5
    log = len(cut_off.files["-wal"])
    yield cut_off, Row("log, its header", "one bit"), flip("-wal", 0, 32), 0.5
    yield cut_off, Row("log", "one bit"), flip("-wal", 32, log), 3.0
    yield cut_off, Row("log", "cut"), cut("-wal"), 2.0


Line = tuple[Truth, Row, Harm, int]
"""What a line of the table is made of, and how many runs it has."""


def measured(runs: int, events: int, seed: str, folder: Path, jobs: int = 1) -> list[Row]:
    """The whole table: so many runs in all, by so many processes at once."""
    for name in ("closed", "cut"):
        (folder / name).mkdir()
    closed = made(folder / "closed", events, closed=True)
    cut_off = made(folder / "cut", events, closed=False)
    given = list(rows(closed, cut_off, folder))
    whole = sum(share for *_, share in given)
    lines: list[Line] = [
        (truth, row, harm, max(1, round(runs * share / whole))) for truth, row, harm, share in given
    ]
    work = partial(_line, lines, seed, folder)
    if jobs == 1:
        return [work(number) for number in range(len(lines))]
    forked = get_context("fork")
    todo, done = forked.SimpleQueue(), forked.SimpleQueue()
    for number in [*sorted(range(len(lines)), key=lambda one: -lines[one][3]), *[-1] * jobs]:
        todo.put(number)

    def take() -> None:
        while (number := todo.get()) >= 0:
            done.put((number, work(number)))

    workers = [forked.Process(target=take) for _ in range(jobs)]
    for one in workers:
        one.start()
    found = dict(done.get() for _ in lines)
    for one in workers:
        one.join()
    return [found[number] for number in range(len(lines))]


def _line(lines: list[Line], seed: str, folder: Path, number: int) -> Row:
    truth, row, harm, runs = lines[number]
    luck, work = Random(f"{seed} {row.where} {row.what}"), folder / f"work{number}"
    work.mkdir()
    for _ in range(runs):
        tried(truth, work / "journal.sqlite", harm, luck, row)
    return row


INTRODUCTION = """\
Made by `python -m tests.bench.faults.damage`; nothing here is typed by hand. Each run harms a fresh copy of a
journal in one place and asks it everything, first by a reader, then by a station that starts on it. `silently
wrong`: another event, time, account, list or lot than was written, or one missing, and nobody said so.
`told`: something was said to be damaged, lost or mended. `unharmed`: all is right, nothing had to be said.
`mended`: runs in which a flipped bit was turned back because the checksum proves it.
"""


def main() -> None:
    """Harm, count, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.faults.damage", description=__doc__)
    parser.add_argument("--runs", type=int, default=5_000)
    parser.add_argument("--events", type=int, default=500)
    parser.add_argument("--seed", default="damage")
    parser.add_argument("--jobs", type=int, default=1, help="processes at once")
    parser.add_argument("--out", type=Path, help="write the table into this file too")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found = measured(given.runs, given.events, given.seed, Path(folder), given.jobs)
    all_runs = sum(row.runs for row in found)
    head = f"# Damage\n\n{INTRODUCTION}\n{all_runs} runs, {given.events} events, seed {given.seed!r}.\n"
    text = f"{head}\n{table(HEAD, [row.cells for row in found])}\n"
    print(text)
    for row in found:
        for one in dict.fromkeys(row.examples):
            print(f"- {row.where}, {row.what}: {one}")
    if given.out is not None:
        given.out.write_text(text, encoding="utf-8")
    sys.exit(1 if any(row.wrong for row in found) else 0)


if __name__ == "__main__":
    with suppress(KeyboardInterrupt):
        main()
