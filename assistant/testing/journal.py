"""A fake of `ports.Journal` in memory, and the contract check that every journal of batches must pass."""

from collections.abc import Callable, Iterator, Sequence
from typing import Protocol

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import evolve, replay
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.errors import ImpossibleEvent, JournalError
from assistant.journal.codec import event_text, read_event
from assistant.journal.summaries import (
    BatchSummary,
    LotBatch,
    batch_of,
    keep_opening,
    lot_batch,
    summaries_after,
)
from assistant.ports import Clock, Journal, Stamp


class BatchJournal(Journal[ev.Event], Protocol):
    """A journal that also knows the state and the batches that its events lead to."""

    def read(self, after: int = 0) -> Iterator[tuple[Stamp, ev.Event]]:
        """Events with a sequence above `after`, oldest first."""

    def batch(self, number: int) -> list[tuple[Stamp, ev.Event]]:
        """Events of one batch, oldest first; JournalError where there is none."""

    def batches(self) -> list[BatchSummary]:
        """A line a batch, oldest first."""

    def closed(self, most: int) -> list[int]:
        """Numbers of the batches last closed, oldest first."""

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """Closed batches of the lots last used, and of the lot `also`."""

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events, and the stamp of the last."""


class MemoryJournal:
    """A journal that is lost with the process."""

    def __init__(self, clock: Clock) -> None:
        self.fail: JournalError | None = None
        """What the next appends raise, as a full disk would; None: they work."""
        self._clock = clock
        self._rows: list[tuple[Stamp, int | None, ev.Event]] = []
        self._lines: dict[int, BatchSummary] = {}
        self._state = State()
        self._closed = False

    def append(self, events: Sequence[ev.Event]) -> Sequence[Stamp]:
        """Keep all events of one decision, or none."""
        if self._closed:
            raise JournalError("the journal in memory is closed; open another")
        if self.fail is not None:
            raise self.fail
        clock, state, rows, lines = (
            self._clock,
            self._state,
            list[tuple[Stamp, int | None, ev.Event]](),
            dict[int, BatchSummary](),
        )
        moment = (clock.wall(), clock.monotonic(), clock.boot_id(), clock.wall_trusted())
        for sequence, event in enumerate(events, len(self._rows) + 1):
            # Through the text, so that what can't be written fails here too.
            kept = read_event(sequence, *event_text(event))
            stamp = Stamp(sequence, *moment)
            before, state = state, evolve(state, kept)
            rows.append((stamp, batch_of(before, state), kept))
            for line in summaries_after(before, kept, state, stamp):
                old = lines.get(line.number, self._lines.get(line.number))
                lines[line.number] = keep_opening(old, line)
        self._rows += rows
        self._lines |= lines
        self._state = state
        return [stamp for stamp, _, _ in rows]

    def read(self, after: int = 0) -> Iterator[tuple[Stamp, ev.Event]]:
        """Events with a sequence above `after`, oldest first."""
        yield from ((stamp, event) for stamp, _, event in self._rows[after:])

    def batch(self, number: int) -> list[tuple[Stamp, ev.Event]]:
        """Events of one batch, oldest first."""
        found = [(stamp, event) for stamp, batch, event in self._rows if batch == number]
        if not found:
            raise JournalError(
                f"the journal in memory holds no batch {number}; batches() lists those it holds"
            )
        return found

    def batches(self) -> list[BatchSummary]:
        """A line a batch, oldest first."""
        return [self._lines[number] for number in sorted(self._lines)]

    def closed(self, most: int) -> list[int]:
        """Numbers of the batches last closed, oldest first."""
        return [line.number for line in self.batches() if line.outcome == "closed"][-most:]

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """Closed batches of the lots last used, and of the lot `also`."""
        closed: dict[str, list[LotBatch]] = {}
        for line in self.batches():
            if line.lot is not None and line.outcome == "closed" and line.ended_wall and line.water_g > 0:
                told = (event for _, event in self.batch(line.number))
                found = lot_batch(
                    told,
                    number=line.number,
                    lot=line.lot,
                    recipe=line.recipe,
                    ended_wall=line.ended_wall,
                    hydration_pct=line.hydration_pct,
                )
                closed.setdefault(line.lot, []).append(found)
        names = sorted(closed, key=lambda lot: closed[lot][-1].number, reverse=True)[:lots]
        if also in closed and also not in names:
            names.append(also)
        return [batch for name in names for batch in closed[name][-batches:]]

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events, and the stamp of the last."""
        return self._state, self._rows[-1][0] if self._rows else None

    def close(self) -> None:
        """Take no more."""
        self._closed = True


def decisions(*steps: tuple[float, cmd.Command], rules: BatchRules | None = None) -> list[list[ev.Event]]:
    """What a station would journal for commands at these times (s): a list of events per decision."""
    state, found = State(), []
    for at, command in steps:
        events = decide(state, Said(command), at, rules or BatchRules()).events
        for event in events:
            state = evolve(state, event)
        if events:
            found.append(list(events))
    return found


def check_journal(make: Callable[[Clock], BatchJournal]) -> None:
    """Hold the journals of `make`, empty and with this clock, to the contract; AssertionError otherwise."""
    _keeps_what_it_is_given(make)
    _keeps_all_of_a_decision_or_nothing(make)
    _knows_its_batches(make)
    _knows_its_lots(make)


def _keeps_what_it_is_given(make: Callable[[Clock], BatchJournal]) -> None:
    clock = ScriptedClock()
    journal = make(clock)
    assert list(journal.read()) == []
    assert journal.load() == (State(), None)
    assert list(journal.append([])) == []
    written = []
    for events in decisions(
        (0.0, cmd.NewBatch(Amount(1500))), (60.0, cmd.AddWater(Amount(150))), (62.0, cmd.Undo())
    ):
        clock.move(10.0)
        clock.trusted = not clock.trusted
        stamps = journal.append(events)
        moment = (clock.wall(), clock.monotonic(), clock.boot_id(), clock.wall_trusted())
        assert [(s.wall, s.monotonic, s.boot, s.wall_trusted) for s in stamps] == [moment] * len(events)
        written += list(zip(stamps, events, strict=True))
    assert [stamp.sequence for stamp, _ in written] == list(range(1, len(written) + 1))
    assert list(journal.read()) == written
    assert list(journal.read()) == written, "a second reading differs"
    assert list(journal.read(after=2)) == written[2:]
    assert journal.load() == (replay(event for _, event in written), written[-1][0])
    journal.close()
    try:
        journal.append([ev.LotNamed(at=1.0, lot="7")])
    except JournalError:
        return
    raise AssertionError("a closed journal took an event")


def _keeps_all_of_a_decision_or_nothing(make: Callable[[Clock], BatchJournal]) -> None:
    journal = make(ScriptedClock())
    good = ev.LotNamed(at=1.0, lot="4471")
    journal.append([good])
    before = journal.load()
    for bad in (ev.MixEnded(at=2.0), ev.LoudnessSet(at=float("nan"), steps=1)):
        try:
            journal.append([ev.LotNamed(at=2.0, lot="4472"), bad])
        except (ImpossibleEvent, ValueError):
            pass
        else:
            raise AssertionError(f"{bad} was taken")
        assert [event for _, event in journal.read()] == [good]
        assert journal.load() == before
    assert [stamp.sequence for stamp in journal.append([ev.LotNamed(at=3.0, lot="4473")])] == [2]
    journal.close()


def _knows_its_batches(make: Callable[[Clock], BatchJournal]) -> None:
    clock = ScriptedClock()
    journal = make(clock)
    opened = clock.wall() + 1.0
    for events in decisions(
        (0.0, cmd.NewBatch(Amount(1500))),
        (1.0, cmd.AddWater(Amount(465, exact=True))),
        (2.0, cmd.JudgeCrumb("ready")),
        (3.0, cmd.CloseBatch()),
        (4.0, cmd.SetTimer("2", 60.0)),
        (5.0, cmd.NewBatch(Amount(1000))),
        (6.0, cmd.DropBatch()),
        (7.0, cmd.NewBatch(Amount(2000))),
        (8.0, cmd.Undo()),
        (9.0, cmd.NewBatch(Amount(2000))),
    ):
        clock.move(1.0)
        journal.append(events)
    lines = journal.batches()
    assert [(line.number, line.outcome) for line in lines] == [
        (1, "closed"),
        (2, "dropped"),
        (3, "taken back"),
        (4, "open"),
    ]
    first = lines[0]
    assert (first.opened_wall, first.ended_wall) == (opened, opened + 3.0)
    assert (first.flour_g, first.water_g, first.hydration_pct, first.crumb) == (1500.0, 465.0, 31.0, "ready")
    assert lines[3].ended_wall is None
    closed = [line.number for line in lines if line.outcome == "closed"]
    assert (journal.closed(9), journal.closed(1)) == (closed, closed[-1:])
    assert [type(event).__name__ for _, event in journal.batch(1)] == [
        "BatchOpened",
        "WaterAdded",
        "CrumbJudged",
        "BatchClosed",
    ]
    try:
        journal.batch(99)
    except JournalError:
        pass
    else:
        raise AssertionError("a batch that never was has events")
    journal.close()


def _knows_its_lots(make: Callable[[Clock], BatchJournal]) -> None:
    clock = ScriptedClock()
    journal = make(clock)
    at = 0.0
    for lot, verdicts in (("12", "dry ready"), ("7", "ready"), ("12", "wet"), ("9", ""), ("7", "dry")):
        steps: list[cmd.Command] = [cmd.SetLot(lot), cmd.NewBatch(Amount(1000))]
        for number, verdict in enumerate(verdicts.split()):
            steps += [
                cmd.AddWater(Amount(300 if number == 0 else 10, exact=True)),
                cmd.JudgeCrumb("ready"),
            ]
            steps += [cmd.Undo(), cmd.JudgeCrumb(verdict)]  # type: ignore[arg-type]
        steps += [cmd.TellCondition("dough", 25.0), cmd.TellCondition("kitchen", 21.0), cmd.Undo()]
        steps += [cmd.TellCondition("dough", 28.0), cmd.CloseBatch()]
        for events in _go_on(journal, at, steps):
            clock.move(60.0)
            journal.append(events)
        at += 1000.0
    kept = [(b.number, b.lot, b.squeezes) for b in journal.lot_batches()]
    assert kept == [
        (2, "7", (("ready", 30.0),)),
        (5, "7", (("dry", 30.0),)),
        (1, "12", (("dry", 30.0), ("ready", 31.0))),
        (3, "12", (("wet", 30.0),)),
    ], kept
    assert [b.number for b in journal.lot_batches(lots=1, batches=1)] == [5]
    assert [b.number for b in journal.lot_batches(lots=1, batches=1, also="12")] == [5, 3]
    assert [b.number for b in journal.lot_batches(lots=1, also="none")] == [2, 5]
    (newest,) = journal.lot_batches(lots=1, batches=1)
    assert newest.conditions == (("dough", 28.0),)
    assert (newest.ended_wall, newest.hydration_pct, newest.recipe) == (clock.wall(), 30.0, None)
    journal.close()


def _go_on(journal: BatchJournal, at: float, commands: Sequence[cmd.Command]) -> Iterator[list[ev.Event]]:
    """What a station would journal for commands a second apart, from the state that the journal loads."""
    for number, command in enumerate(commands):
        events = decide(journal.load()[0], Said(command), at + number, BatchRules()).events
        if events:
            yield list(events)
