"""A year by month and lot: flour, scrap, crumb checks, and what got too much water. Pure."""

from collections.abc import Mapping, Sequence
from datetime import tzinfo

from assistant.board.pages.page_blocks import Block, Cell, Drawn, Facts, Grid, Page, Ways, to_lot
from assistant.board.pages.page_words import PageWords
from assistant.config.flour_lots import StockedLot
from assistant.journal.tallies import Tally
from assistant.sheets import SheetWords
from assistant.sheets.charts.year_figures import checks_figure, flour_figure, months, over_figure


def year_page(
    year: int,
    tallies: Sequence[Tally],
    stock: Mapping[str, StockedLot],
    words: PageWords,
    sheet_words: SheetWords,
    zone: tzinfo | None = None,
) -> Page:
    """The page of a year, from the batches that ended in it."""
    counted = [one for one in tallies if one.batch.outcome != "taken back"]
    by_month, none = months(counted, zone), words.text("year.none")
    figures = [draw(by_month, sheet_words) for draw in (flour_figure, checks_figure, over_figure)]
    blocks: list[Block] = [
        _sums(counted, words, sheet_words),
        *(Drawn(figure, none) for figure in figures),
        _lots(counted, stock, words, sheet_words),
        Ways(
            words.text("ways.label"),
            (
                Cell(words.text("ways.year_before"), f"/year?year={year - 1}"),
                Cell(words.text("ways.year_after"), f"/year?year={year + 1}"),
            ),
        ),
    ]
    return Page(f"{words.text('title.year')} {year}", blocks)


def _sums(counted: Sequence[Tally], words: PageWords, sheet_words: SheetWords) -> Facts:
    closed = [one for one in counted if one.batch.outcome == "closed"]
    judged = [one for one in closed if one.checks]
    nothing = words.text("nothing")
    checks = sheet_words.decimal(sum(one.checks for one in judged) / len(judged)) if judged else nothing
    over = words.text("year.of_judged", count=sum(one.over for one in judged), judged=len(judged))
    values = {
        "batches": str(len(closed)),
        "dropped": str(len(counted) - len(closed)),
        "flour": _kilos(sum(one.batch.flour_g for one in counted), sheet_words),
        "scrap": _kilos(sum(one.scrap_g for one in counted), sheet_words),
        "portions": str(sum(one.portions for one in closed)),
        "checks": checks,
        "over": over,
    }
    return Facts(tuple((words.text(f"year.{key}"), Cell(value)) for key, value in values.items()))


def _kilos(grams: float, sheet_words: SheetWords) -> str:
    """A mass that is large most of the time; what is not is said in grams."""
    return sheet_words.mass(round(grams)) if grams < 1000.0 else f"{sheet_words.decimal(grams / 1000.0)} kg"


def _lots(
    counted: Sequence[Tally], stock: Mapping[str, StockedLot], words: PageWords, sheet_words: SheetWords
) -> Grid:
    """Flour by lot, the most first."""
    flour: dict[str | None, list[float]] = {}
    for one in counted:
        flour.setdefault(one.batch.lot, []).append(one.batch.flour_g)
    nothing = words.text("nothing")
    rows = tuple(
        (
            Cell(words.text("year.no_lot")) if lot is None else to_lot(lot),
            Cell((stock[lot].supplier if lot in stock else "") or nothing) if lot else Cell(nothing),
            Cell(str(len(taken))),
            Cell(_kilos(sum(taken), sheet_words)),
        )
        for lot, taken in sorted(flour.items(), key=lambda one: -sum(one[1]))
    )
    head = tuple(words.text(f"year.head.{one}") for one in ("lot", "supplier", "batches", "flour"))
    return Grid(words.text("year.heading.lots"), head, rows, words.text("year.none"), frozenset({2, 3}))
