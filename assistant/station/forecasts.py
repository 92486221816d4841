"""The kitchen's memory for flour: closed batches of the journal and the lots on the shelf, as forecasts.

Batches of one lot in different recipes are kept apart: an egg dough ends elsewhere than a plain one.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Protocol

from assistant.batch.record.events import BatchClosed, Event, Withdrawn
from assistant.batch.record.shift_events import CookNamed
from assistant.config.flour_lots import StockedLot
from assistant.config.language.own_words import plain
from assistant.dough.evidence import bounds, ready_pct
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import Forecast, LotRecord, Seen
from assistant.dough.recipe import RecipePlan
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


def expected_pct(flour: str, recipe: str | None, plans: Mapping[str, RecipePlan]) -> float | None:
    """Hydration (%) that a flour is expected around before any batch of it; None: the kitchen's target.

    By the recipe that it is made in; of plain dough by the recipes that it is the flour of, or has the name
    of, where the plain dough's own recipe has it not.
    """
    if recipe not in (None, PLAIN):
        return plans[recipe].target_pct if recipe in plans else None
    usual = plans[PLAIN].flours if PLAIN in plans else ()
    if flour in dict(usual):
        return None
    targets = [plan.target_pct for plan in plans.values() if flour in (plan.recipe, *dict(plan.flours))]
    return sum(targets) / len(targets) if targets else None


def record_of(
    lot: str, recipe: str | None, stock: Mapping[str, StockedLot], plans: Mapping[str, RecipePlan]
) -> LotRecord:
    """What is known of a lot in a recipe before any batch."""
    recipe = None if recipe == PLAIN else recipe
    stocked = stock.get(lot, StockedLot())
    return LotRecord(
        record_name(lot, recipe),
        record_name(stocked.flour, recipe),
        stocked.moisture_pct,
        supplier=plain(stocked.supplier),
        expected_pct=expected_pct(plain(stocked.flour), recipe, plans),
        recipe=recipe,
    )


def records(
    batches: Iterable[LotBatch],
    stock: Mapping[str, StockedLot],
    plans: Mapping[str, RecipePlan] = MappingProxyType({}),
) -> list[LotRecord]:
    """A record for each lot in each recipe, from its batches; batches without evidence are left out.

    One that was closed far outside its marks is none: sooner its account lacks something.
    """
    grouped: dict[tuple[str, str | None], list[Seen]] = {}
    newest: dict[tuple[str, str | None], int] = {}
    for batch in batches:
        key = batch.lot, None if batch.recipe == PLAIN else batch.recipe
        newest[key] = batch.number
        found = None if batch.far else bounds(batch.squeezes)
        if found is not None:
            grouped.setdefault(key, []).append(
                Seen(
                    day=batch.ended_wall / _DAY_S,
                    bounds=found,
                    batch=batch.number,
                    ready_pct=ready_pct(batch.squeezes),
                    squeezes=batch.squeezes,
                    cook=batch.cook,
                    humidity_pct=dict(batch.conditions).get("humidity"),
                    station=batch.station,
                )
            )
    # In the order they come in, oldest first within a lot: a clock may have been wrong.
    return [
        replace(
            record_of(lot, recipe, stock, plans),
            seen=tuple(seen),
            newest=newest[lot, recipe],
        )
        for (lot, recipe), seen in grouped.items()
    ]


class FlourBook:
    """Forecasts for the engine and for `crumbcall lots`; kept until the next batch is closed.

    `default_pct`: the kitchen's target, for flour of which nothing is known; `cook`: who judges the crumb.
    """

    def __init__(
        self,
        journal: LotBatches,
        stock: Mapping[str, StockedLot],
        wall: Callable[[], float],
        default_pct: float,
        plans: Mapping[str, RecipePlan] = MappingProxyType({}),
        cook: str | None = None,
    ) -> None:
        self._journal = journal
        self._stock = stock
        self._wall = wall
        self._default_pct = default_pct
        self._plans = plans
        self.cook = cook
        """Who judges the crumb now; None: not known."""
        self._memories: dict[str, FlourMemory] = {}
        self._kept: dict[tuple[str, float | None], Forecast] = {}

    def follow(self, events: Sequence[Event]) -> None:
        """Events were written: where a batch was closed or opened again, or another cooks, it looks anew."""
        for event in events:
            if isinstance(event, CookNamed):
                self.cook = event.cook
                self._kept.clear()
        if any(isinstance(event, BatchClosed | Withdrawn) for event in events):
            self._memories.clear()
            self._kept.clear()

    def memory(self, lot: str) -> FlourMemory:
        """What is learned from when a lot is named: the lots last used and this one. Raises JournalError."""
        if lot not in self._memories:
            batches = self._journal.lot_batches(LOTS, BATCHES, also=lot)
            made = FlourMemory(records(batches, self._stock, self._plans), self._default_pct)
            # What was read is right for all lots that are in it.
            for known in {lot, *(batch.lot for batch in batches)}:
                self._memories.setdefault(known, made)
        return self._memories[lot]

    def forecast(self, lot: str, recipe: str | None = None, humidity_pct: float | None = None) -> Forecast:
        """The next batch of a lot in a recipe, in this air. Raises JournalError."""
        name = record_name(lot, recipe)
        key = name, humidity_pct
        if key not in self._kept:
            record = record_of(lot, recipe, self._stock, self._plans)
            self._kept[key] = self.memory(lot).forecast(
                record, self._wall() / _DAY_S, cook=self.cook, humidity_pct=humidity_pct
            )
        return self._kept[key]

    def of(self, record: LotRecord) -> Forecast:
        """The next batch of the lot of this record in its recipe. Raises JournalError."""
        lot = record.lot.removesuffix(f" {record.recipe}") if record.recipe else record.lot
        return self.forecast(lot, record.recipe)

    def __call__(self, lot: str, recipe: str | None, humidity_pct: float | None = None) -> Forecast | None:
        """The same; `Forecast.known`: whether the lot's own batches are evidence.

        None where the journal can't be read: the kitchen's rules apply.
        """
        try:
            return self.forecast(lot, recipe, humidity_pct)
        except JournalError:
            return None
