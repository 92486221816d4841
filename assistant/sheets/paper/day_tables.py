"""The tables and figures of a day's sheet, in the words of a language. Pure."""

from dataclasses import dataclass
from datetime import tzinfo

from assistant.sheets import formats
from assistant.sheets.paper.day_record import Cooling, DayRecord, Walked
from assistant.sheets.sheet import Moment, Sheet
from assistant.sheets.wording import DAY_TABLES, SheetWords

_NUMBERS = frozenset({"batch", "flour", "water", "hydration", "portions", "scrap", "took"})
"""Columns that are set to the right."""


@dataclass(frozen=True, slots=True)
class DayTable:
    """A table with its title; without rows the page says that there is none."""

    title: str
    head: tuple[str, ...]
    classes: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def day_tables(
    record: DayRecord, words: SheetWords, zone: tzinfo | None
) -> tuple[list[DayTable], list[tuple[str, str]]]:
    """Tables of batches, cooling and cleaning; and the figures above them."""
    tables = [
        _table("batches", [_batch(one, words, zone) for one in record.batches], words),
        _table("cooling", [_cooling(one, words, zone) for one in record.cooling], words),
        _table("walks", [_walk(one, words, zone) for one in record.walks], words),
    ]
    figures = [
        (words.text("day.label.batches"), words.text("day.count", count=record.figures.batches)),
        (words.text("day.label.portions"), words.text("day.count", count=record.figures.portions)),
        (words.text("day.label.scrap"), words.text("day.mass", grams=record.scrap_g)),
        (words.text("day.label.lots"), ", ".join(_lots(record)) or words.text("day.none")),
    ]
    return tables, figures


def _lots(record: DayRecord) -> list[str]:
    return list(dict.fromkeys(one.lot for one in record.batches if one.lot is not None))


def _table(name: str, rows: list[tuple[str, ...]], words: SheetWords) -> DayTable:
    columns = DAY_TABLES[name].split()
    return DayTable(
        title=words.text(f"paper.title.{name}"),
        head=tuple(words.text(f"paper.{name}.{column}") for column in columns),
        classes=tuple("number" if column in _NUMBERS else "what" for column in columns),
        rows=tuple(rows),
    )


def _batch(sheet: Sheet, words: SheetWords, zone: tzinfo | None) -> tuple[str, ...]:
    nothing = words.text("batches.nothing")
    return (
        str(sheet.number),
        words.clock(sheet.opened, zone),
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
        words.clock(one.filled, zone),
        words.clock(start.plus(one.limit_s), zone) if one.certain else words.text("label.blank"),
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
    return words.name(one.name), words.clock(one.began, zone), _clock(one.ended, words, zone), result


def _clock(moment: Moment | None, words: SheetWords, zone: tzinfo | None) -> str:
    return words.text("label.blank") if moment is None else words.clock(moment, zone)
