"""How well it hears, on one day: the cook's own figure, from counts alone. Pure."""

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta, tzinfo

from assistant.board.pages.batch_page import ANSWERS, ASKED, answer_of
from assistant.board.pages.page_blocks import Block, Cell, Drawn, Facts, Grid, Lines, Page, Ways
from assistant.board.pages.page_words import PageWords
from assistant.journal.heard_counts import BECAME, Quarter
from assistant.sheets import Sheet, SheetWords
from assistant.sheets.charts.hearing_figures import heard_figure, noise_figure

NOT_HEARD_WELL = ("unsure", "twin", "said_wrong")
"""Reasons of questions that are asked because of how something was heard."""


def hearing_page(
    day: str,
    quarters: Sequence[Quarter],
    sheets: Sequence[Sheet],
    words: PageWords,
    sheet_words: SheetWords,
    zone: tzinfo | None = None,
) -> Page:
    """The page of a day. `day`: the kitchen's, as 2026-03-02; `sheets`: of the batches of that day."""
    blocks: list[Block] = [Lines((words.text("hearing.note"),))]
    if not quarters:
        blocks.append(Lines((words.text("hearing.none"),)))
    if any(not one.clock_set for one in quarters):
        blocks.append(Lines((words.text("hearing.clock"),)))
    if quarters:
        none = words.text("hearing.none")
        blocks.append(_sums(quarters, words))
        blocks.append(Drawn(heard_figure(quarters, sheet_words, zone), none))
        blocks.append(Drawn(noise_figure(quarters, sheet_words, zone), none))
    blocks.append(_asked(sheets, words, sheet_words))
    around = {
        name: date.fromisoformat(day) + timedelta(days=by)
        for name, by in (("day_before", -1), ("day_after", 1))
    }
    ways = tuple(Cell(words.text(f"ways.{name}"), f"/hearing?day={one}") for name, one in around.items())
    blocks.append(Ways(words.text("ways.label"), ways))
    return Page(f"{words.text('title.hearing')} {day}", blocks)


def _sums(quarters: Sequence[Quarter], words: PageWords) -> Facts:
    heard = sum(one.heard for one in quarters)
    rows = [(words.text("hearing.heard"), Cell(str(heard)))]
    for became in BECAME:
        count = sum(one.count(became) for one in quarters)
        share = words.text("hearing.share", count=count, pct=round(100.0 * count / max(1, heard)))
        rows.append((words.text(f"hearing.{became}"), Cell(share)))
    return Facts(tuple(rows))


def _asked(sheets: Sequence[Sheet], words: PageWords, sheet_words: SheetWords) -> Grid:
    """Questions of the day's batches that were asked because of how something was heard, by their answers."""
    found = Counter(
        (str(line.what.values["reason"]), answer_of(line))
        for sheet in sheets
        for line in sheet.lines
        if line.what.key == ASKED
    )
    rows = tuple(
        (
            Cell(sheet_words.word("reason", reason)),
            *(Cell(str(found[reason, answer])) for answer in ANSWERS),
        )
        for reason in NOT_HEARD_WELL
        if any(found[reason, answer] for answer in ANSWERS)
    )
    head = tuple(words.text(f"hearing.head.{one}") for one in ("why", "yes", "no", "none"))
    empty = words.text("hearing.empty.asked")
    return Grid(words.text("hearing.heading.asked"), head, rows, empty, frozenset({1, 2, 3}))
