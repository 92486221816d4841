"""One batch: its water over time, what happened, what was asked and answered; and the list. Pure."""

from collections.abc import Sequence
from datetime import tzinfo

from assistant.board.pages.page_blocks import (
    Block,
    Cell,
    Drawn,
    Facts,
    Grid,
    Lines,
    Page,
    Ways,
    to_batch,
    to_lot,
)
from assistant.board.pages.page_words import PageWords
from assistant.journal.summaries import BatchSummary
from assistant.sheets import Sheet, SheetWords
from assistant.sheets.charts.batch_figure import batch_figure
from assistant.sheets.layout import facts_of
from assistant.sheets.sheet import SheetLine

ASKED = "lines.asked"
"""Lines of questions; their notes say why, and what was answered."""
ANSWERS = ("yes", "no", "no_answer")
AT_ONCE = 50
"""Batches on a page of the list."""


def answer_of(line: SheetLine) -> str | None:
    """How a question ended: one of `ANSWERS`; None: it is open."""
    return next((key for note in line.notes if (key := note.key.removeprefix("notes.")) in ANSWERS), None)


def batch_page(
    sheet: Sheet,
    words: PageWords,
    sheet_words: SheetWords,
    zone: tzinfo | None = None,
    *,
    last: int | None = None,
) -> Page:
    """The page of a batch. `last`: number of the newest batch."""
    neighbours = [number for number in (sheet.number - 1, sheet.number + 1) if 1 <= number <= (last or 0)]
    ways = tuple(Cell(words.text("ways.batch", number=one), f"/batches/{one}") for one in neighbours)
    ways += (*_paper(sheet, words), Cell(words.text("ways.all_batches"), "/batches"))
    blocks: list[Block] = [
        Drawn(batch_figure(sheet, sheet_words), words.text("nothing")),
        _asked(sheet, words, sheet_words, zone),
        Lines((words.text("batch.heading.facts"),), heading=True),
        Facts(tuple(_fact(label, value, sheet) for label, value in facts_of(sheet, sheet_words, zone))),
        Ways(
            words.text("ways.label"),
            ways,
        ),
    ]
    return Page(words.text("title.batch", number=sheet.number), blocks)


def _paper(sheet: Sheet, words: PageWords) -> tuple[Cell, ...]:
    """The ways to what can be printed of it."""
    return tuple(
        Cell(words.text(f"ways.{one}"), f"/paper/{one}/{sheet.number}") for one in ("sheet", "labels")
    )


def _fact(label: str, value: str, sheet: Sheet) -> tuple[str, Cell]:
    """A fact of the sheet; the lot leads to its page."""
    return label, to_lot(sheet.lot) if sheet.lot is not None and value == sheet.lot else Cell(value)


def _asked(sheet: Sheet, words: PageWords, sheet_words: SheetWords, zone: tzinfo | None) -> Grid:
    rows = []
    for line in sheet.lines:
        if line.what.key == ASKED:
            answer = answer_of(line)
            rows.append(
                (
                    Cell(sheet_words.clock(line.moment, zone)),
                    Cell(sheet_words.command(line.what.values["command"])),
                    Cell(sheet_words.word("reason", line.what.values["reason"])),
                    Cell(sheet_words.text(f"notes.{answer}") if answer else words.text("nothing")),
                )
            )
    head = tuple(words.text(f"batch.head.{one}") for one in ("time", "asked", "why", "answer"))
    return Grid(words.text("batch.heading.asked"), head, tuple(rows), words.text("batch.none.asked"))


def batches_page(
    batches: Sequence[BatchSummary],
    words: PageWords,
    sheet_words: SheetWords,
    zone: tzinfo | None = None,
    *,
    before: int | None = None,
) -> Page:
    """A page of the list, newest first. `before`: the number that it begins under; None: the newest."""
    nothing = Cell(words.text("nothing"))
    rows = tuple(
        (
            to_batch(one.number),
            Cell(sheet_words.date_and_time(one.opened_wall, trusted=one.opened_trusted, zone=zone)),
            nothing if one.lot is None else to_lot(one.lot),
            Cell(words.name(one.recipe)) if one.recipe else nothing,
            Cell(sheet_words.mass(one.flour_g)),
            Cell(sheet_words.mass(one.water_g)),
            Cell(sheet_words.percent(one.hydration_pct)),
            Cell(sheet_words.word("crumb", one.crumb)) if one.crumb else nothing,
            Cell(sheet_words.word("outcome", one.outcome)),
        )
        for one in batches
    )
    names = ["batch", "opened", "lot", "recipe", "flour", "water", "hydration", "crumb", "state"]
    head = tuple(words.text(f"head.{one}") for one in names)
    grid = Grid(words.text("batches.heading"), head, rows, words.text("batches.none"), frozenset({4, 5, 6}))
    ways = []
    if before is not None:
        ways.append(Cell(words.text("ways.newer"), f"/batches?before={before + AT_ONCE}"))
    if batches and batches[-1].number > 1:
        ways.append(Cell(words.text("ways.older"), f"/batches?before={batches[-1].number}"))
    blocks: list[Block] = [grid, *([Ways(words.text("ways.label"), tuple(ways))] if ways else [])]
    return Page(words.text("title.batches"), blocks)
