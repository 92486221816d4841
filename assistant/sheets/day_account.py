"""What a kitchen made in a day: its figures, and the sheet of them. Pure."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from assistant.batch.record.events import Event
from assistant.batch.record.rules import DayFigures
from assistant.config.day_plan import DAY_ENDS_H
from assistant.config.flour_lots import StockedLot
from assistant.journal.summaries import BatchSummary
from assistant.ports import Stamp
from assistant.sheets.build import build_sheet
from assistant.sheets.layout import columns
from assistant.sheets.wording import SheetWords

NO_STOCK: Mapping[str, StockedLot] = {}
"""No lot is written down."""

Read = Callable[[int], Iterable[tuple[Stamp, Event]]]
"""Number of a batch -> its events."""


def day_of(wall: float, zone: tzinfo | None = None) -> str:
    """The kitchen's day of a wall time (s since 1970), as 2026-03-02; zone None: the machine's."""
    at = datetime.fromtimestamp(wall, UTC).astimezone(zone) - timedelta(hours=DAY_ENDS_H)
    return at.strftime("%Y-%m-%d")


def span_of_day(day: date, zone: tzinfo | None = None) -> tuple[float, float]:
    """Wall times (s since 1970) at which a day of the kitchen begins and ends."""
    return _begin(day, zone), _begin(day + timedelta(days=1), zone)


def span_of_year(year: int, zone: tzinfo | None = None) -> tuple[float, float]:
    """Wall times (s since 1970) at which a year of the kitchen begins and ends."""
    return _begin(date(year, 1, 1), zone), _begin(date(year + 1, 1, 1), zone)


def _begin(day: date, zone: tzinfo | None) -> float:
    return datetime.combine(day, time(DAY_ENDS_H), tzinfo=zone).timestamp()


def day_figures(
    batches: Sequence[BatchSummary],
    read: Read,
    wall: float,
    zone: tzinfo | None = None,
    *,
    stock: Mapping[str, StockedLot] = NO_STOCK,
) -> DayFigures:
    """The closed batches of the day that `wall` is in; dropped ones and those taken back are left out.

    `stock`: lots on the shelf. What any batch took of them, a dropped one too, is gone; a batch counts for
    the lot that was named last in it.
    """
    day = day_of(wall, zone)
    taken: dict[str | None, float] = {}
    for one in batches:
        if one.outcome != "taken back":
            taken[one.lot] = taken.get(one.lot, 0.0) + one.flour_g
    closed = [
        one
        for one in batches
        if one.outcome == "closed" and one.ended_wall is not None and day_of(one.ended_wall, zone) == day
    ]
    sheets = [build_sheet(read(one.number)) for one in closed]
    return DayFigures(
        batches=len(sheets),
        portions=sum(sheet.portions for sheet in sheets),
        scrap_g=sum(sheet.scrap_g for sheet in sheets),
        lots=tuple(dict.fromkeys(sheet.lot for sheet in sheets if sheet.lot is not None)),
        left_g=tuple(
            (lot, max(0.0, 1000.0 * one.delivered_kg - taken.get(lot, 0.0)))
            for lot, one in stock.items()
            if one.delivered_kg is not None
        ),
    )


def day_sheet(
    made: DayFigures,
    day: str,
    trays: Iterable[tuple[int, int]],
    planned_g: float,
    words: SheetWords,
    *,
    station: str = "",
) -> str:
    """The day on paper. `trays`: numbers of batch and tray of those not cold; `planned_g`: flour (g).

    `station`: its name; empty: it is not printed.
    """
    warm = ", ".join(words.text("day.tray", batch=batch, tray=tray) for batch, tray in trays)
    none = words.text("day.none")
    left = ", ".join(words.text("day.lot", lot=lot, grams=grams) for lot, grams in made.left_g)
    order = made.order_g(planned_g)
    rows = [
        *([(words.text("facts.label.station"), station)] if station else []),
        (words.text("day.label.batches"), words.text("day.count", count=made.batches)),
        (words.text("day.label.portions"), words.text("day.count", count=made.portions)),
        (words.text("day.label.scrap"), words.text("day.mass", grams=made.scrap_g)),
        (words.text("day.label.trays"), warm or none),
        (words.text("day.label.lots"), ", ".join(made.lots) or none),
        (words.text("day.label.wanted"), words.text("day.mass", grams=planned_g) if planned_g else none),
        (words.text("day.label.left"), left or words.text("day.unknown")),
        (words.text("day.label.order"), words.text("day.mass", grams=order) if order else none),
    ]
    return "\n".join([words.text("day.title", day=day), "", *columns(rows, frozenset())])
