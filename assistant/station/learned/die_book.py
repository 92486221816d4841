"""The kitchen's memory for its dies: closed batches of the journal as figures of each die."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from assistant.batch.record.events import BatchClosed, BatchDropped, Event, Withdrawn
from assistant.dough.calculators.throughput import DieFigures, DieRun, figures_of
from assistant.errors import JournalError
from assistant.ports import Stamp
from assistant.sheets.die_runs import run_of

BATCHES = 60
"""Batches last closed that are learned from: a press and its dies wear."""


class ClosedBatches(Protocol):
    """What a journal knows of the batches that are closed."""

    def closed(self, most: int) -> Sequence[int]:
        """Numbers of the batches last closed, oldest first."""

    def batch(self, number: int) -> Iterable[tuple[Stamp, Event]]:
        """Events of one batch, oldest first."""


class DieBook:
    """Figures of each die for the engine; a batch is read once, and again only after it was reopened."""

    def __init__(self, journal: ClosedBatches) -> None:
        self._journal = journal
        self._runs: dict[int, DieRun | None] = {}
        self._figures: Mapping[str | None, DieFigures] | None = None

    def follow(self, events: Sequence[Event]) -> None:
        """Events were written: where a batch ended, or was opened again, what was kept is out of date."""
        if any(isinstance(event, BatchClosed | BatchDropped | Withdrawn) for event in events):
            self._figures = None
            self._runs.pop(max(self._runs, default=0), None)

    def __call__(self, die: str | None) -> DieFigures | None:
        """What is known of a die (None: not named); None where nothing is, or the journal can't be read."""
        try:
            return self.figures().get(die)
        except JournalError:
            return None

    def figures(self) -> Mapping[str | None, DieFigures]:
        """What is known of each die, the last used first. Raises JournalError."""
        if self._figures is None:
            numbers = self._journal.closed(BATCHES)
            for number in numbers:
                if number not in self._runs:
                    self._runs[number] = run_of(self._journal.batch(number))
            self._figures = figures_of(run for n in numbers if (run := self._runs[n]) is not None)
        return self._figures
