"""The faults: how each is done to a station, how often, and what became of the account."""

import errno
import os
import re
import resource
import shutil
import signal
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from assistant.app.adapters import real_clock
from assistant.config.home import Home
from assistant.journal.store import SqliteJournal
from tests.bench.faults.cook import Account, Found, acknowledge, found, sentences, verdict
from tests.bench.faults.power import Disk, Done, recorded
from tests.bench.faults.shim import Op, Shim
from tests.bench.faults.typed import Ran, Station, nothing

LINES = 14
"""Sentences of a run."""
HOME_RUNS = 12
"""Runs one after the other in one home, each going on from where the one before was hurt."""
_ORDERLY = (0, 2)
_PLACE = re.compile(r"/\S*/(?=journal\.sqlite)")
"""Where the journal lies, which differs from run to run."""


@dataclass
class Tally:
    """What a row counted."""

    fault: str
    how: str
    runs: int = 0
    acknowledged: int = 0
    """Pours that the cook was told are in."""
    lost: int = 0
    twice: int = 0
    wrong: int = 0
    hung: int = 0
    tracebacks: int = 0
    problems: list[str] = field(default_factory=list)
    said: str = ""
    """What the station said of it, the first time."""

    @property
    def harmless(self) -> bool:
        """Whether nothing is lost, wrong, stuck or told in a programmer's words."""
        return (
            not (self.lost or self.twice or self.wrong or self.hung or self.tracebacks or self.problems)
            and "Something broke" not in self.said
        )

    def line(self) -> list[str | int]:
        """Cells of the table."""
        counts = [self.runs, self.acknowledged, self.lost, self.twice, self.wrong, self.hung, self.tracebacks]
        return [self.fault, self.how, *counts, self.said or "-"]


Fault = Callable[[Station, Random], None]
"""Done from outside to a station that runs."""


@dataclass(frozen=True)
class Bench:
    """Where and how the faults are done."""

    folder: Path
    shim: Shim
    rng: Random

    def homes(self, runs: int) -> Iterator[Path]:
        """A home for each run: the same for some, then a new one. Each is removed when it was used."""
        for number in range(runs):
            home = self.folder / f"home{number // HOME_RUNS}"
            yield home
            if number % HOME_RUNS == HOME_RUNS - 1 or number == runs - 1:
                shutil.rmtree(home, ignore_errors=True)

    def row(
        self,
        tally: Tally,
        runs: int,
        inside: Callable[[Path, Random], Callable[[], None]] = lambda _home, _rng: nothing,
        outside: Fault = lambda _station, _rng: None,
    ) -> Tally:
        """Hurt so many stations; `inside` gives what is done in the station's own process at its start."""
        account, known, last = Account(), Found(), None
        for home in self.homes(runs):
            if home != last:
                account, known, last = Account(), Found(), home
            journal = Home.find(home).journal_file
            lines = sentences(known, account, self.rng, LINES)
            station = Station(home, lines, inside(journal, self.rng))
            outside(station, self.rng)
            ran = station.end()
            tally.acknowledged += acknowledge(ran.printed, known, account)
            known = found(journal)
            count(tally, ran, account, known)
        return tally


def count(tally: Tally, ran: Ran | None, account: Account, now: Found) -> None:
    """Add a run to a row."""
    tally.runs += 1
    told = verdict(account, now)
    tally.lost += told.lost
    tally.twice += told.twice
    tally.wrong += told.wrong
    if told.problem:
        tally.problems.append(told.problem)
    if ran is not None:
        tally.hung += ran.hung
        tally.tracebacks += "Traceback" in ran.errors
        tally.said = tally.said or _PLACE.sub("", " ".join(ran.errors.split()))


# ---- ends


def killed(bench: Bench, runs: int) -> Tally:
    """SIGKILL at any moment, the start among them."""

    def kill(station: Station, rng: Random) -> None:
        if rng.random() < 0.25:
            station.read(timeout_s=rng.uniform(0, 0.04))
        else:
            station.read(until_lines=rng.randrange(1, LINES))
            station.read(timeout_s=rng.choice((0.0, rng.uniform(0, 0.002))))
        station.signal(signal.SIGKILL)

    return bench.row(Tally("killed", "SIGKILL at any moment, then started again"), runs, outside=kill)


def signalled(bench: Bench, runs: int, number: signal.Signals) -> Tally:
    """A signal that asks for an end."""
    tally = Tally(f"asked to end by {number.name}", "at any moment after the first answer")

    def ask(station: Station, rng: Random) -> None:
        station.read(until_lines=rng.randrange(1, LINES))
        station.signal(number)

    return bench.row(tally, runs, outside=ask)


def power_lost(bench: Bench, runs: int) -> Tally:
    """Sessions are recorded, then the power goes at any operation of them."""
    tally = Tally("power lost", "each sector of 512 bytes that was not synced is there or not, by chance")
    cuts = 100
    for number in range(max(1, runs // cuts)):
        home = bench.folder / f"power{number}"
        record, journal = bench.folder / f"record{number}", Home.find(home).journal_file
        account = Account()
        lines = sentences(Found(), account, bench.rng, 3 * LINES)

        def begin(journal: Path = journal, record: Path = record) -> None:
            bench.shim.files(journal)
            bench.shim.record(os.open(record, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600))

        Station(home, lines, begin).end()
        done = list(recorded(record))
        for _ in range(min(cuts, runs)):
            _cut(bench, tally, account.said, done[: bench.rng.randrange(len(done) + 1)], number)
        record.unlink()
        shutil.rmtree(home)
    return tally


def _cut(bench: Bench, tally: Tally, said: set[tuple[int, float]], done: list[Done], number: int) -> None:
    disk, printed = Disk(), b""
    for one in done:
        if one.op is Op.PRINTED:
            printed += one.data
        elif not one.path.endswith(("-shm", ".lock")):
            disk.take(one)
    account = Account(said=said)
    tally.acknowledged += acknowledge(printed.split(b"\n")[:-1], Found(), account)
    home = bench.folder / f"after{number}"
    shutil.rmtree(home, ignore_errors=True)
    home.mkdir(parents=True)
    for path, content in disk.after_a_loss(bench.rng, bench.rng.choice((0.0, 0.5, 0.9, 1.0))).items():
        (home / Path(path).name).write_bytes(content)
    count(tally, None, account, found(Home.find(home).journal_file))
    shutil.rmtree(home)


# ---- disks


def disk_fails(
    bench: Bench, runs: int, what: str, ops: Op, number: int, *, heals: bool = False, start: bool = False
) -> Tally:
    """Operations on the journal's files fail from some moment on, for ever or for a while."""
    how = f"{(ops.name or '').replace('|', ', ')} {errno.errorcode[number]}{', for a while' if heals else ''}"
    tally = Tally(what, f"{how}{', from the start on' if start else ''}")

    def inside(journal: Path, rng: Random) -> Callable[[], None]:
        after = 0 if start else rng.randrange(40)
        times = rng.randrange(1, 5) if heals else -1

        def begin() -> None:
            bench.shim.files(journal)
            bench.shim.fail(ops, number, after, times)

        return begin

    return bench.row(tally, runs, inside=inside)


def slow_disk(bench: Bench, runs: int) -> Tally:
    """Each sync takes a while."""

    def inside(journal: Path, rng: Random) -> Callable[[], None]:
        seconds = rng.uniform(0.005, 0.05)

        def begin() -> None:
            bench.shim.files(journal)
            bench.shim.slow(seconds)

        return begin

    tally = Tally("slow disk, killed", "each sync 5 to 50 ms longer, SIGKILL at any moment")

    def kill(station: Station, rng: Random) -> None:
        station.read(until_lines=rng.randrange(1, LINES))
        station.signal(signal.SIGKILL)

    return bench.row(tally, runs, inside=inside, outside=kill)


def hanging_disk(bench: Bench, runs: int, seconds: int = -1) -> Tally:
    """One sync takes very long (s), or does not return at all."""
    how = f"one sync after the first answer {'never returns' if seconds < 0 else f'takes {seconds} s'}"

    def inside(journal: Path, rng: Random) -> Callable[[], None]:
        after = rng.randrange(LINES // 2)

        def begin() -> None:
            bench.shim.files(journal)
            bench.shim.hang(after, seconds)

        return begin

    return bench.row(Tally("disk does not answer", how), runs, inside=inside)


# ---- the machine


def clock_jumps(bench: Bench, runs: int) -> Tally:
    """The wall clock stands anywhere from 1970 to 2100 at each start."""

    def inside(_journal: Path, rng: Random) -> Callable[[], None]:
        offset = rng.choice((-1, 1)) * 10 ** rng.uniform(0, 9.2)
        return lambda: bench.shim.clock(offset)

    return bench.row(
        Tally("wall clock wrong", "by a second to fifty years, other at each start"), runs, inside
    )


def starved(bench: Bench, runs: int) -> Tally:
    """No processor time but what others leave, and others take all."""

    def inside(_journal: Path, _rng: Random) -> Callable[[], None]:
        return lambda: os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))

    spinning = [subprocess.Popen(["sh", "-c", "while :; do :; done"]) for _ in range(os.cpu_count() or 1)]
    try:
        return bench.row(
            Tally("processor starved", "SCHED_IDLE beside one busy process a core"), runs, inside
        )
    finally:
        for process in spinning:
            process.kill()
            process.wait()


def little_memory(bench: Bench, runs: int) -> Tally:
    """No more memory than it has at its start, and a little."""

    def inside(_journal: Path, rng: Random) -> Callable[[], None]:
        more = rng.randrange(64 << 10, 48 << 20)

        def begin() -> None:
            pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
            limit = pages * resource.getpagesize() + more
            resource.setrlimit(resource.RLIMIT_AS, (limit, limit))

        return begin

    return bench.row(Tally("memory limited", "64 kB to 48 MB more than at the start"), runs, inside)


def two_stations(bench: Bench, runs: int) -> Tally:
    """A second station is started on the same journal: it has to refuse, and the first to go on."""
    tally = Tally("two stations", "the second on the journal of the first")
    account = Account()
    home = bench.folder / "two"
    journal = Home.find(home).journal_file
    for _ in range(runs):
        known = found(journal)
        with closing(SqliteJournal.open(journal, real_clock())):
            refused = Station(home, sentences(known, Account(), bench.rng, 3)).end()
        if refused.status not in _ORDERLY or refused.printed:
            tally.problems.append(f"the second took {len(refused.printed)} sentences")
        ran = Station(home, sentences(known, account, bench.rng, LINES)).end()
        tally.acknowledged += acknowledge(ran.printed, known, account)
        count(tally, refused, account, found(journal))
    return tally
