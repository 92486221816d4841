"""The lots: what each likely wants now, and how sure that is; one lot with its batches. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from assistant.board.pages.page_blocks import Block, Cell, Drawn, Facts, Grid, Lines, Page, to_batch, to_lot
from assistant.board.pages.page_words import PageWords
from assistant.config.flour_lots import StockedLot
from assistant.dough.lots import Forecast, LotRecord
from assistant.sheets import SheetWords
from assistant.sheets.charts.lot_figure import lot_figure
from assistant.sheets.charts.lots_figure import lots_figure

_HEADS = [
    "lot",
    "flour",
    "supplier",
    "moisture",
    "season",
    "batches",
    "likely",
    "range",
    "first_pour",
    "left",
    "notes",
]
_NUMBERS = frozenset({3, 5, 6, 7, 8, 9})
_NOT_STOCKED = StockedLot()


@dataclass(frozen=True, slots=True)
class KnownLot:
    """A lot in a recipe, with what is forecast of it."""

    record: LotRecord
    forecast: Forecast
    first_pct: float
    """Hydration (%) of the first pour."""
    stocked: StockedLot = _NOT_STOCKED
    """What the kitchen wrote down of it."""
    left_g: float | None = None
    """What no batch has taken of it yet (g); None: not known."""

    @property
    def lot(self) -> str:
        """The lot's own name, without the recipe."""
        recipe = self.record.recipe
        return self.record.lot.removesuffix(f" {recipe}") if recipe else self.record.lot


def lots_page(
    lots: Sequence[KnownLot], noise_pct: float, today: date, words: PageWords, sheet_words: SheetWords
) -> Page:
    """All lots, the one last used first. `noise_pct`: how far batches of one lot differ (points)."""
    rows = tuple(_row(one, today, words, sheet_words) for one in lots)
    head = tuple(words.text(f"lots.head.{one}") for one in _HEADS)
    empty = words.text("lots.empty")
    grid = Grid(words.text("lots.heading"), head, rows, empty, _NUMBERS)
    figure = lots_figure([(one.record, one.forecast, one.first_pct) for one in lots], sheet_words)
    blocks: list[Block] = [Drawn(figure, empty, grid)]
    if lots:
        blocks.append(Lines((words.text("lots.noise", points=noise_pct),)))
    return Page(words.text("title.lots"), blocks)


def lot_page(
    lot: str,
    kinds: Sequence[KnownLot],
    closed: Mapping[int, float],
    today: date,
    words: PageWords,
    sheet_words: SheetWords,
) -> Page:
    """One lot, in each recipe that it was made in. `closed`: hydration (%) at the end of each batch."""
    blocks: list[Block] = []
    for one in kinds:
        row = _row(one, today, words, sheet_words)
        named = tuple(
            (words.text(f"lots.head.{key}"), cell) for key, cell in zip(_HEADS[1:], row[1:], strict=True)
        )
        figure = lot_figure(one.record, one.forecast, one.first_pct, sheet_words, closed)
        if one.record.recipe:
            blocks.append(Lines((words.text("lots.in_recipe", recipe=one.record.recipe),), heading=True))
        empty = words.text("lots.empty_lot")
        batches = tuple(
            (to_batch(seen.batch) if seen.station is None else Cell(seen.name), *map(Cell, row[1:]))
            for seen, row in zip(one.record.seen, figure.table.rows, strict=True)
        )
        table = Grid(figure.title, figure.table.head, batches, empty, figure.table.numbers)
        blocks += [Facts(named), Drawn(figure, empty, table)]
    return Page(words.text("title.lot", lot=lot), blocks)


def _row(one: KnownLot, today: date, words: PageWords, sheet_words: SheetWords) -> tuple[Cell, ...]:
    forecast, stocked, nothing = one.forecast, one.stocked, words.text("nothing")
    name = to_lot(one.lot)
    moisture = one.record.moisture_pct
    texts = (
        words.name(one.record.flour),
        stocked.supplier or nothing,
        nothing if moisture is None else sheet_words.percent(moisture),
        one.record.season or nothing,
        str(forecast.batches),
        sheet_words.percent(forecast.likely_pct),
        words.text("lots.range", low=forecast.low_pct, high=forecast.high_pct),
        sheet_words.percent(one.first_pct),
        nothing if one.left_g is None else sheet_words.mass(round(one.left_g)),
        "; ".join(_to_mind(one, today, words)) or nothing,
    )
    return (Cell(one.record.lot, name.href), *map(Cell, texts))


def _to_mind(one: KnownLot, today: date, words: PageWords) -> list[str]:
    """What is to be looked at."""
    forecast, found = one.forecast, list[str]()
    if not forecast.known:
        found.append(words.text("lots.unknown"))
    if forecast.drift_points:
        way = "more" if forecast.drift_points > 0 else "less"
        found.append(words.text(f"lots.{way}", points=abs(forecast.drift_points)))
    if forecast.calls_climb:
        found.append(words.text("lots.climbed", batches=forecast.climbed))
    best_before = one.stocked.best_before
    if best_before is not None and best_before < today:
        found.append(words.text("lots.best_before", day=best_before.isoformat()))
    return found
