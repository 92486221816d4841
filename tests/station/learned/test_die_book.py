"""The memory for dies: each batch is read once, and again only after it was reopened."""

from collections.abc import Iterable, Sequence

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.errors import JournalError
from assistant.ports import Stamp
from assistant.station.learned.die_book import DieBook
from tests.sheets.test_sheet import Day, grams


class Counting:
    """A journal that keeps which batches were read."""

    def __init__(self, day: Day) -> None:
        self.day = day
        self.read: list[int] = []
        self.broken = False

    def closed(self, most: int) -> Sequence[int]:
        if self.broken:
            raise JournalError("it can't be read")
        return self.day.journal.closed(most)

    def batch(self, number: int) -> Iterable[tuple[Stamp, ev.Event]]:
        self.read.append(number)
        return self.day.journal.batch(number)


def make(day: Day, tray_s: float = 300.0) -> None:
    steps: list[cmd.Command] = [
        cmd.NewBatch(grams(1500)),
        cmd.PourRest(),
        cmd.NewDie("rigatoni"),
        cmd.JudgeCrumb("ready"),
    ]
    for command in (*steps, cmd.Extruding()):
        day.say(10.0, command)
    for _ in range(3):
        day.say(tray_s, cmd.TrayDone())
    day.say(0.0, cmd.CloseBatch())


def test_a_batch_is_read_once_and_the_next_adds_to_it() -> None:
    day = Day()
    make(day)
    journal = Counting(day)
    book = DieBook(journal)
    for _ in range(2):
        found = book("rigatoni")
        assert found is not None
        # 1,965 g in 900 s.
        assert found.batches == 1
        assert found.g_per_min == pytest.approx(131.0)
        assert book("penne") is None
    make(day)
    book.follow([ev.BatchClosed(at=day.clock.monotonic())])
    found = book("rigatoni")
    assert found is not None
    assert found.batches == 2
    assert journal.read.count(2) == 1


def test_a_batch_that_is_open_again_does_not_count() -> None:
    day = Day()
    make(day)
    book = DieBook(Counting(day))
    assert book("rigatoni") is not None
    day.say(5.0, cmd.Undo())
    book.follow([ev.Withdrawn(at=day.clock.monotonic(), what="BatchClosed", grams=None)])
    assert book("rigatoni") is None


def test_a_journal_that_can_not_be_read_is_no_memory() -> None:
    journal = Counting(Day())
    journal.broken = True
    assert DieBook(journal)("rigatoni") is None
    with pytest.raises(JournalError):
        DieBook(journal).figures()
