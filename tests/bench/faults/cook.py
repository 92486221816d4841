"""What a cook says to a station that is hurt, and what the journal has to know of it afterwards."""

import json
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from assistant.app.adapters import real_clock
from assistant.batch.record.events import BatchOpened, Event, WaterAdded
from assistant.batch.record.evolving.evolve import replay
from assistant.errors import CrumbcallError
from assistant.journal.store import SqliteJournal

FLOUR_G, MOST_WATER_G = 2000, 520
Pour = tuple[int, float]
"""Number of the batch, and grams; no two of a batch are alike."""


@dataclass
class Account:
    """What was said, and what was acknowledged, in one home."""

    said: set[Pour] = field(default_factory=set)
    acknowledged: list[Pour] = field(default_factory=list)


@dataclass
class Found:
    """What a journal has."""

    pours: list[Pour] = field(default_factory=list)
    batches: int = 0
    poured: list[float] = field(default_factory=list)
    """Of the open batch (g); empty where none is open."""
    open: bool = False
    problem: str = ""
    """One line where it can't be opened, or where its events lead to another state than it says."""


@dataclass(frozen=True)
class Verdict:
    """What a fault did to the account."""

    lost: int
    """Pours that were acknowledged and are not in the journal."""
    twice: int
    """Pours that are in it more than once."""
    wrong: int
    """Pours that nobody said, or that stand in another order."""
    problem: str

    @property
    def harmless(self) -> bool:
        return not (self.lost or self.twice or self.wrong or self.problem)


def found(path: Path) -> Found:
    """What the journal has; opened as a station opens it."""
    if not path.exists():
        return Found()
    try:
        with closing(SqliteJournal.open(path, real_clock())) as journal:
            events = [event for _, event in journal.read()]
            state, _ = journal.load()
            told = Found(*_pours(events), problem="" if journal.moved_aside is None else "moved aside")
            if replay(events) != state:
                told.problem = "another state than its events lead to"
    except (CrumbcallError, OSError) as error:
        return Found(problem=str(error))
    if state.batch is not None:
        told.open = True
        told.poured = [grams for number, grams in told.pours if number == told.batches]
    return told


def _pours(events: Sequence[Event]) -> tuple[list[Pour], int]:
    pours, batches = list[Pour](), 0
    for event in events:
        if isinstance(event, BatchOpened):
            batches += 1
        elif isinstance(event, WaterAdded):
            pours.append((batches, event.grams))
    return pours, batches


def sentences(known: Found, account: Account, rng: Random, count: int) -> list[str]:
    """So many sentences that go on from what the journal has; their pours are noted as said."""
    batch, poured, lines = known.batches, list(known.poured), list[str]()
    if not known.open:
        batch, poured = batch + 1, []
        lines.append(f"new batch {FLOUR_G}")
    while len(lines) < count:
        free = [grams for grams in range(11, 60) if grams not in poured]
        grams = rng.choice(free)
        if sum(poured) + grams > MOST_WATER_G:
            lines += ["close batch", "yes", f"new batch {FLOUR_G}"]
            batch, poured = batch + 1, []
            continue
        poured.append(grams)
        account.said.add((batch, float(grams)))
        lines.append(f"water {grams}")
    return lines


def acknowledge(printed: Sequence[bytes], known: Found, account: Account) -> int:
    """Note what the printed lines acknowledge as being on disk; how many pours that is.

    What is answered between "not written" and "all is written" is that only after the latter.
    """
    batch, count = known.batches, 0
    held, waiting = False, list[Pour]()
    for line in printed:
        turn = json.loads(line)
        keys = {reply["key"] for reply in turn["replies"]}
        held = (held or "not_written" in keys) and "written_again" not in keys
        if "batch_opened" in keys:
            batch += 1
        if "water_in" in keys:
            waiting.append((batch, float(turn["command"]["grams"])))
        if not held:
            account.acknowledged += waiting
            count += len(waiting)
            waiting.clear()
    return count


def verdict(account: Account, now: Found) -> Verdict:
    """Compare what was acknowledged with what is there."""
    times = Counter(now.pours)
    in_order = iter(now.pours)
    lost = sum(1 for pour in account.acknowledged if pour not in times)
    disordered = not lost and not all(pour in in_order for pour in account.acknowledged)
    wrong = sum(1 for pour in times if pour not in account.said) + disordered
    return Verdict(lost, sum(n - 1 for n in times.values()), wrong, now.problem)
