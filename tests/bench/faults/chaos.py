"""Days of simulated service, a fault at random in each spell of it; the clock is moved, not waited for."""

import errno
import signal
from collections.abc import Callable
from pathlib import Path
from random import Random

from assistant.config.home import Home
from tests.bench.faults.cook import Account, Found, acknowledge, found, sentences
from tests.bench.faults.rows import LINES, Bench, Tally, count
from tests.bench.faults.shim import Op
from tests.bench.faults.typed import Station

DAYS_OF_SERVICE = 2
DAY_S = 86_400
_PAUSES_S = (20, 45, 90, 240, 600, 1800, 5400)
"""What passes between two sentences of a cook (s)."""
_SPOKEN = ("mix 4 minutes", "got it", "crumb dry", "rest 15 minutes", "timer three ten minutes", "time left")
"""What is said between the pours; not of the account, so that any of it may be lost with a fault."""

FAULTS = ("none", "killed", "ended", "full", "full for a while", "sync fails", "read-only", "clock", "slow")


def chaos(bench: Bench, runs: int) -> Tally:
    """So many times two days, each in one home; every spell is replayed to the state that it left."""
    tally = Tally(
        "chaos", f"{DAYS_OF_SERVICE} days of simulated service, a fault of {len(FAULTS)} kinds in each spell"
    )
    for number in range(runs):
        home = bench.folder / f"days{number}"
        journal = Home.find(home).journal_file
        account, known, passed = Account(), Found(), 0
        while passed < DAYS_OF_SERVICE * DAY_S:
            lines, took = _spell(known, account, bench.rng)
            passed += took
            fault = bench.rng.choice(FAULTS)
            station = Station(home, lines, _inside(bench, fault, journal, bench.rng), ["--clock", "scripted"])
            _from_outside(station, fault, bench.rng)
            ran = station.end()
            tally.acknowledged += acknowledge(ran.printed, known, account)
            known = found(journal)
            count(tally, ran, account, known)
    return tally


def _spell(known: Found, account: Account, rng: Random) -> tuple[list[str], int]:
    """Sentences of a spell with time between them, and how long it is (s)."""
    lines, passed = list[str](), 0
    for sentence in sentences(known, account, rng, LINES):
        lines.append(sentence)
        if sentence.startswith(("close", "yes")):
            # A question waits ten seconds for its answer; closing may ask two.
            lines += ["yes"] if sentence == "yes" else []
            continue
        if rng.random() < 0.4:
            lines.append(rng.choice(_SPOKEN))
        pause = rng.choice(_PAUSES_S)
        passed += pause
        lines.append(f"+{pause}s")
    return lines, passed


def _inside(bench: Bench, fault: str, journal: Path, rng: Random) -> Callable[[], None]:
    after, times = rng.randrange(60), rng.randrange(1, 5)
    offset = rng.choice((-1, 1)) * 10 ** rng.uniform(0, 9.2)

    def begin() -> None:
        bench.shim.files(journal)
        match fault:
            case "full":
                bench.shim.fail(Op.WRITE, errno.ENOSPC, after)
            case "full for a while":
                bench.shim.fail(Op.WRITE, errno.ENOSPC, after, times)
            case "sync fails":
                bench.shim.fail(Op.SYNC, errno.EIO, after, times)
            case "read-only":
                bench.shim.fail(Op.WRITE | Op.TRUNCATE, errno.EROFS, after)
            case "clock":
                bench.shim.clock(offset)
            case "slow":
                bench.shim.slow(0.01)

    return begin


def _from_outside(station: Station, fault: str, rng: Random) -> None:
    if fault not in ("killed", "ended"):
        return
    station.read(until_lines=rng.randrange(1, 2 * LINES))
    station.signal(signal.SIGKILL if fault == "killed" else signal.SIGTERM)
