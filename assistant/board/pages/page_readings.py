"""What each page reads, and no more: a day, a batch, a few lots, a year; never the whole journal."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, tzinfo

from assistant.batch.record.state import State
from assistant.board.pages.batch_page import AT_ONCE, batch_page, batches_page
from assistant.board.pages.card_page import card_page
from assistant.board.pages.hearing_page import hearing_page
from assistant.board.pages.lots_page import KnownLot, lot_page, lots_page
from assistant.board.pages.page_blocks import Page
from assistant.board.pages.settings_page import settings_page
from assistant.board.pages.sources import PageSources
from assistant.board.pages.today_page import TodayFacts, today_page
from assistant.board.pages.year_page import year_page
from assistant.config.flour_lots import StockedLot
from assistant.dough.flour.staging import first_water_pct
from assistant.dough.flour_memory import USUAL_NOISE
from assistant.dough.lots import LotRecord, by_lot
from assistant.journal.heard_counts import read_heard
from assistant.journal.reader import JournalReader
from assistant.ports import Stamp
from assistant.sheets import Sheet, build_sheet
from assistant.sheets.day_account import day_of, span_of_day, span_of_year
from assistant.station.forecasts import FlourBook, LotBatches, record_of, records
from assistant.sync.group_lots import GroupLots

LOTS = 8
"""Lots on their page: as many as the station learns from."""


class Readings:
    """Makes each page from its sources. Raises CrumbcallError, one line, where that can't be."""

    def __init__(self, sources: PageSources) -> None:
        self._from = sources
        self._words = sources.words, sources.sheet_words
        self._state: tuple[State, Stamp | None] = (State(), None)

    def today(self) -> Page:
        """What was made today, and what is open."""
        wall, zone = self._from.clock.wall(), self._from.zone
        with self._from.journal() as journal:
            self._state = state, last = journal.load_after(*self._state)
            sheets = _sheets_of(journal, date.fromisoformat(day_of(wall, zone)), zone)
        trusted = self._from.clock.wall_trusted()
        food = self._from.settings.rules.food
        gone = self._from.gone()
        facts = TodayFacts(sheets, state, last, self._from.plan(), wall, trusted, food, gone)
        return today_page(facts, *self._words, zone)

    def batches(self, before: int | None) -> Page:
        """A page of the list of batches; `before`: the number that it begins under."""
        with self._from.journal() as journal:
            found = journal.last_batches(AT_ONCE, before)
        return batches_page(found, *self._words, self._from.zone, before=before)

    def batch(self, number: int) -> Page | None:
        """One batch; None where there is none of that number."""
        with self._from.journal() as journal:
            newest = journal.last_batches(1)
            if not newest or newest[0].number < number:
                return None
            sheet = build_sheet(journal.batch(number))
        return batch_page(sheet, *self._words, self._from.zone, last=newest[0].number)

    def lots(self) -> Page:
        """The lots last used."""
        with self._from.journal() as journal:
            batches = self._lots(journal).lot_batches(LOTS)
            known = self._known(journal, records(batches, self._from.stock(), self._from.plans))
        # The lot last used comes first: its noise is that of the kitchen now.
        noise = known[0].forecast.noise_pct if known else USUAL_NOISE
        return lots_page(known, noise, self._today, *self._words)

    def lot(self, lot: str) -> Page | None:
        """One lot in each of its recipes; None where the kitchen does not know it."""
        with self._from.journal() as journal:
            stock, plans = self._from.stock(), self._from.plans
            batches = [one for one in self._lots(journal).lot_batches(LOTS, also=lot) if one.lot == lot]
            if not batches and lot not in stock and lot not in journal.flour_by_lot():
                return None
            # One that no batch says anything of is forecast as flour of its kind.
            found = records(batches, stock, plans) or [record_of(lot, None, stock, plans)]
            kinds = self._known(journal, found)
        closed = {one.number: one.hydration_pct for one in batches if one.station is None}
        return lot_page(lot, kinds, closed, self._today, *self._words)

    def year(self, year: int | None) -> Page:
        """A year; None: this one."""
        zone = self._from.zone
        chosen = int(day_of(self._from.clock.wall(), zone)[:4]) if year is None else year
        with self._from.journal() as journal:
            tallies = journal.tallies(*span_of_year(chosen, zone))
        return year_page(chosen, tallies, self._from.stock(), *self._words, zone)

    def settings(self) -> Page:
        """The settings in force."""
        found = self._from
        return settings_page(found.settings, found.settings_file, found.words, found.settings_about)

    def card(self) -> Page:
        """The phrase card."""
        return card_page(self._from.card, self._from.words)

    def hearing(self, day: date | None) -> Page:
        """How well it heard on a day; None: today."""
        zone = self._from.zone
        chosen = day or date.fromisoformat(day_of(self._from.clock.wall(), zone))
        quarters = read_heard(self._from.heard, *span_of_day(chosen, zone))
        with self._from.journal() as journal:
            sheets = _sheets_of(journal, chosen, zone)
        return hearing_page(chosen.isoformat(), quarters, sheets, *self._words, zone)

    @property
    def _today(self) -> date:
        return datetime.fromtimestamp(self._from.clock.wall(), UTC).astimezone(self._from.zone).date()

    def _lots(self, journal: JournalReader) -> LotBatches:
        """What is known of lots: here, and by the group where there is one."""
        return journal if self._from.group is None else GroupLots(journal, self._from.group)

    def _known(self, journal: JournalReader, lots: Iterable[LotRecord]) -> list[KnownLot]:
        """Lots with their forecasts: the station's own figures, by the same functions."""
        rules, plans, stock = self._from.settings.rules, self._from.plans, self._from.stock()
        wall = self._from.clock.wall
        book = FlourBook(self._lots(journal), stock, wall, rules.target_pct, plans, rules.cook or None)
        taken, found = journal.flour_by_lot(), list[KnownLot]()
        for record in by_lot({one.lot: one for one in lots}):
            forecast = book.of(record)
            plan = plans.get(record.recipe) if record.recipe else None
            target = plan.target_pct if plan else rules.target_pct
            first = first_water_pct(forecast, target, rules.first_pour_share)
            name = record.lot.removesuffix(f" {record.recipe}") if record.recipe else record.lot
            stocked = stock.get(name, StockedLot())
            delivered = stocked.delivered_kg
            left = None if delivered is None else max(0.0, 1000.0 * delivered - taken.get(name, 0.0))
            found.append(KnownLot(record, forecast, first, stocked, left))
        return found


def _sheets_of(journal: JournalReader, day: date, zone: tzinfo | None) -> list[Sheet]:
    """Sheets of the batches that ended on a day or are open, oldest first."""
    since, until = span_of_day(day, zone)
    return [build_sheet(journal.batch(one.number)) for one in journal.batches(since, until)]
