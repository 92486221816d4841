"""The kitchen's memory for flour: closed batches of the journal and the lots on the shelf, as forecasts.

Batches of one lot in different recipes are kept apart: an egg dough ends elsewhere than a plain one.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Protocol

from assistant.batch.record.events import BatchClosed, Event, Withdrawn
from assistant.config.flour_lots import StockedLot
from assistant.dough.evidence import bounds, ready_pct
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import Forecast, LotRecord, Seen
from assistant.errors import JournalError
from assistant.journal.summaries import LotBatch

PLAIN = "plain"
LOTS, BATCHES = 8, 24
"""Lots, and newest batches of each, that are learned from; quick enough while a cook waits for the answer."""
_DAY_S = 86_400.0


class LotBatches(Protocol):
    """What a journal knows of its lots."""

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> Sequence[LotBatch]:
        """Closed batches of the lots last used, and of the lot `also`."""


def record_name(lot: str, recipe: str | None) -> str:
    """Name under which a lot is remembered in a recipe; plain dough is the lot's own."""
    return lot if recipe in (None, PLAIN) else f"{lot} {recipe}"


def records(batches: Iterable[LotBatch], stock: Mapping[str, StockedLot]) -> list[LotRecord]:
    """A record for each lot in each recipe, from its batches; batches without evidence are left out.

    One that was closed far outside its marks is none: sooner its account lacks something.
    """
    grouped: dict[tuple[str, str | None], list[Seen]] = {}
    for batch in batches:
        recipe = None if batch.recipe == PLAIN else batch.recipe
        found = None if batch.far else bounds(batch.squeezes, batch.hydration_pct)
        if found is not None:
            seen = Seen(batch.ended_wall / _DAY_S, found, batch.number, ready_pct(batch.squeezes))
            grouped.setdefault((batch.lot, recipe), []).append(seen)
    made = []
    for (lot, recipe), seen_batches in grouped.items():
        stocked = stock.get(lot, StockedLot())
        flour = record_name(stocked.flour, recipe)
        # By number: a clock may have been wrong.
        ordered = tuple(sorted(seen_batches, key=lambda one: one.batch))
        made.append(LotRecord(record_name(lot, recipe), flour, stocked.moisture_pct, ordered))
    return made


class FlourBook:
    """Forecasts for the engine; kept until the next batch is closed.

    `default_pct`: the kitchen's target, for flour of which nothing is known.
    """

    def __init__(
        self,
        journal: LotBatches,
        stock: Mapping[str, StockedLot],
        wall: Callable[[], float],
        default_pct: float,
    ) -> None:
        self._journal = journal
        self._stock = stock
        self._wall = wall
        self._default_pct = default_pct
        self._kept: dict[str, Forecast] = {}

    def follow(self, events: Sequence[Event]) -> None:
        """Events were written: where a batch was closed, or opened again, what was kept is out of date."""
        if any(isinstance(event, BatchClosed | Withdrawn) for event in events):
            self._kept.clear()

    def __call__(self, lot: str, recipe: str | None) -> Forecast | None:
        """The next batch of a lot in a recipe; `Forecast.known`: whether the lot's own batches are evidence.

        None where the journal can't be read: the kitchen's rules apply.
        """
        name = record_name(lot, recipe)
        if name not in self._kept:
            try:
                batches = self._journal.lot_batches(LOTS, BATCHES, also=lot)
            except JournalError:
                return None
            memory = FlourMemory(records(batches, self._stock), self._default_pct)
            flour = record_name(self._stock.get(lot, StockedLot()).flour, recipe)
            self._kept[name] = memory.forecast(name, self._wall() / _DAY_S, flour)
        return self._kept[name]
