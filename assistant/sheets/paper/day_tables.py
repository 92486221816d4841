"""The tables and figures of a day's sheet, in the words of a language. Pure."""

from dataclasses import dataclass
from datetime import tzinfo

from assistant.config.flour_lots import StockedLot
from assistant.dough.lots import UNNAMED_FLOUR
from assistant.sheets import formats
from assistant.sheets.layout import food_values
from assistant.sheets.paper.day_record import Cooling, DayRecord, Walked
from assistant.sheets.sheet import Moment, Sheet
from assistant.sheets.wording import DAY_TABLES, SheetWords

_NUMBERS = frozenset({"batch", "flour", "water", "hydration", "portions", "scrap", "used"})
"""Columns that are set to the right."""


@dataclass(frozen=True, slots=True)
class DayTable:
    """A table with its title; without rows the page says that there is none."""

    title: str
    head: tuple[str, ...]
    classes: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    """What stands above it."""


def day_tables(
    record: DayRecord, words: SheetWords, zone: tzinfo | None
) -> tuple[list[DayTable], list[tuple[str, str]]]:
    """Tables of batches, cooling and cleaning; and the figures above them."""
    rules = _rules(record, words)
    tables = [
        _table("batches", [_batch(one, words, zone) for one in record.batches], words),
        _table("cooling", [_cooling(one, words, zone) for one in record.cooling], words, rules),
        _table("lots", [_lot(lot, grams, record, words) for lot, grams in _used(record).items()], words),
        _table("walks", [_walk(one, words, zone) for one in record.walks], words),
    ]
    figures = [
        (words.text("day.label.batches"), words.text("day.count", count=record.figures.batches)),
        (words.text("day.label.portions"), words.text("day.count", count=record.figures.portions)),
        (words.text("day.label.scrap"), words.text("day.mass", grams=record.scrap_g)),
    ]
    return tables, figures


def _used(record: DayRecord) -> dict[str, float]:
    """Flour of each lot that went into these batches (g)."""
    used: dict[str, float] = {}
    for one in record.batches:
        if one.lot is not None:
            used[one.lot] = used.get(one.lot, 0.0) + one.flour_g
    return used


def _lot(lot: str, grams: float, record: DayRecord, words: SheetWords) -> tuple[str, ...]:
    stocked = record.stock.get(lot, StockedLot())
    blank = words.text("label.blank")
    flour = blank if stocked.flour == UNNAMED_FLOUR else words.name(stocked.flour)
    best_before = blank if stocked.best_before is None else stocked.best_before.isoformat()
    return lot, flour, stocked.supplier or blank, best_before, words.mass(grams)


def _rules(record: DayRecord, words: SheetWords) -> str:
    """The rules of food safety that the last batch of the day was held against, and whose they are."""
    if not record.batches:
        return ""
    food = food_values(record.batches[-1].food_rules, words)
    text, source = (words.text(f"cautions.down_to_cold.{one}", **food) for one in ("text", "source"))
    return f"{text} ({source})"


def _table(name: str, rows: list[tuple[str, ...]], words: SheetWords, note: str = "") -> DayTable:
    columns = DAY_TABLES[name].split()
    return DayTable(
        title=words.text(f"paper.title.{name}"),
        head=tuple(words.text(f"paper.{name}.{column}") for column in columns),
        classes=tuple("number" if column in _NUMBERS else "what" for column in columns),
        rows=tuple(rows),
        note=note if rows else "",
    )


def _batch(sheet: Sheet, words: SheetWords, zone: tzinfo | None) -> tuple[str, ...]:
    nothing = words.text("batches.nothing")
    return (
        str(sheet.number),
        _clock(sheet.opened, words, zone),
        words.name(sheet.recipe) if sheet.recipe else nothing,
        sheet.lot or nothing,
        words.mass(sheet.flour_g),
        words.mass(sheet.water_g),
        words.percent(sheet.hydration_pct),
        words.word("crumb", sheet.crumb) if sheet.crumb else nothing,
        str(sheet.portions),
        words.mass(sheet.scrap_g),
        words.word("outcome", sheet.outcome),
    )


def _cooling(one: Cooling, words: SheetWords, zone: tzinfo | None) -> tuple[str, ...]:
    start = one.wet or one.filled
    # What a thermometer showed nobody told the station: it is written by hand.
    return (
        words.text("day.tray", batch=one.batch, tray=one.tray),
        _clock(one.wet, words, zone),
        _clock(one.filled, words, zone),
        _clock(start.plus(one.limit_s) if one.certain else None, words, zone),
        _clock(one.cold, words, zone),
        _took(one, words),
        words.text("label.blank"),
        words.text("label.blank"),
    )


def _took(one: Cooling, words: SheetWords) -> str:
    if one.took_s is None:
        return words.text("paper.not_told_cold")
    if not one.certain:
        return words.text("paper.time_unsure")
    length = formats.length(one.took_s)
    return words.text("paper.took_late" if one.is_late else "paper.took", length=length)


def _walk(one: Walked, words: SheetWords, zone: tzinfo | None) -> tuple[str, ...]:
    if one.ended is None:
        result = words.text("paper.walk_not_ended")
    else:
        result = words.text("paper.walk_result", skipped=one.skipped)
    return words.name(one.name), _clock(one.began, words, zone), _clock(one.ended, words, zone), result


def _clock(moment: Moment | None, words: SheetWords, zone: tzinfo | None) -> str:
    """Time of day; left to be written by hand where nobody told it, or the clock was not set."""
    if moment is None or not moment.wall_trusted:
        return words.text("label.blank")
    return words.clock(moment, zone)
