"""Batch sheet, day sheet and label as HTML with one linked style sheet, nothing inline. Pure.

Names come from whoever speaks or types: the templates escape whatever is put in.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo
from functools import cache
from typing import TYPE_CHECKING

from assistant.devices.printer.label_sizes import LabelSize
from assistant.sheets.allergens import KitchenAllergens
from assistant.sheets.label import Label, LabelRow
from assistant.sheets.layout import cautions_of, cells_of, facts_of, head_of, title_of
from assistant.sheets.paper.day_record import DayRecord
from assistant.sheets.paper.day_tables import day_tables
from assistant.sheets.paper.paper_style import SHEET_POINTS, STYLE, PaperSize, paper_class, text_class
from assistant.sheets.phrase_card import BETWEEN, Block
from assistant.sheets.sheet import Sheet, SheetLine
from assistant.sheets.wording import SheetWords

if TYPE_CHECKING:
    from jinja2 import Environment

_CLASSES = ("slim", "number", "slim", "what", "slim", "number", "")
"""Of the columns of a batch sheet."""
_IN_ONE_LINE = (("weight", "portions"), ("cold_by", "use_by"))
"""Rows of a label that stand side by side where there is room."""

_LEFT_OUT_FIRST = (
    ("lines.walk_step", "lines.walk_begun", "lines.walk_left", "lines.walk_resumed", "lines.walk_over"),
    ("lines.asked", "lines.restarted", "lines.weighed", "lines.extended", "lines.trays_slow"),
)
"""Lines that go first where a sheet has more than a page holds; then what is void, then pours."""
_POURS = ("lines.water", "lines.flour", "lines.correction")


@dataclass(frozen=True, slots=True)
class Look:
    """How a page is set."""

    language: str = "en"
    paper: PaperSize = "A4"
    """What sheets and card are set on."""
    style: str = STYLE
    """Address of the style sheet."""
    points: float = SHEET_POINTS[0]
    """Size of its text (pt)."""

    def sized(self, points: float) -> "Look":
        """The same in another size of text (pt)."""
        return replace(self, points=points)


@cache
def _templates() -> "Environment":
    from jinja2 import Environment, PackageLoader, StrictUndefined

    loader = PackageLoader("assistant.sheets.paper", "templates")
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined)


def _filled(template: str, look: Look, **values: object) -> str:
    page = _templates().get_template(template)
    text = text_class(look.points)
    return page.render(
        language=look.language,
        style=look.style,
        text_class=text,
        paper_class=paper_class(look.paper),
        **values,
    )


def sheet_page(
    sheet: Sheet,
    words: SheetWords,
    kitchen: KitchenAllergens,
    look: Look,
    *,
    most_lines: int | None = None,
    zone: tzinfo | None = None,
) -> str:
    """A batch sheet. `most_lines`: of more than these the least important are left out, and that is said."""
    shown = _most_important(sheet.lines, most_lines)
    missing = len(sheet.lines) - len(shown)
    return _filled(
        "batch_sheet.html",
        look,
        kind="sheet",
        title=title_of(sheet, words),
        facts=facts_of(sheet, words, zone),
        head=head_of(words),
        classes=_CLASSES,
        rows=[{"cells": cells_of(line, words, zone), "void": line.struck} for line in shown],
        left_out=words.text("paper.left_out", count=missing, number=sheet.number) if missing else "",
        mind=words.text("sheet.mind"),
        cautions=cautions_of(sheet, words, kitchen),
    )


def _most_important(lines: Sequence[SheetLine], most: int | None) -> Sequence[SheetLine]:
    """At most so many lines in their order; of those that matter as much, the middle goes before the ends."""
    if most is None or len(lines) <= most:
        return lines
    last = len(lines) - 1
    order = sorted(range(len(lines)), key=lambda at: (-_rank(lines[at]), min(at, last - at)))
    return [lines[at] for at in sorted(order[:most])]


def _rank(line: SheetLine) -> int:
    """How long a line stays: verdicts, trays and the end longest."""
    for rank, keys in enumerate(_LEFT_OUT_FIRST):
        if line.what.key in keys:
            return rank
    if line.struck:
        return len(_LEFT_OUT_FIRST)
    return len(_LEFT_OUT_FIRST) + (1 if line.what.key in _POURS else 2)


def day_page(
    record: DayRecord, words: SheetWords, look: Look, *, left_out: int = 0, zone: tzinfo | None = None
) -> str:
    """The sheet of a day. `left_out`: batches that it has and this page has no room for."""
    tables, figures = day_tables(record, words, zone)
    who = ", ".join(map(words.name, record.cooks))
    return _filled(
        "day_sheet.html",
        look,
        kind="sheet",
        title=words.text("day.title", day=record.day),
        facts=[(words.text("facts.label.station"), record.station)] if record.station else [],
        clock="" if record.clock_set else words.text("paper.clock_was_not_set"),
        figures=figures,
        tables=tables,
        nothing=words.text("day.none"),
        left_out=words.text("paper.batches_left_out", count=left_out) if left_out else "",
        note=words.text("paper.note"),
        signatures=[words.text("paper.cooked_by", name=who or None), words.text("paper.checked_by")],
    )


def card_page(blocks: Sequence[Block], words: SheetWords, look: Look) -> str:
    """The phrase card."""
    return _filled(
        "phrase_card.html",
        look,
        kind="card",
        title=words.text("card.title"),
        blocks=blocks,
        between=BETWEEN,
        note=words.text("card.note"),
    )


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    head: str
    parts: tuple[tuple[str, bool], ...]
    """Pieces of the value, and whether each names an allergen."""


def label_page(labels: Sequence[Label], size: LabelSize, look: Look, *, preview: bool = False) -> str:
    """Labels, one below the other. `preview`: for a screen, with the edge of each."""
    return _filled(
        "label.html",
        look,
        kind="preview" if preview else "print",
        title=labels[0].pasta if labels else "",
        size=size.name,
        labels=[
            {"pasta": one.pasta, "origin": one.origin, "lines": _lines(one), "maker": one.maker}
            for one in labels
        ],
    )


def _lines(label: Label) -> list[list[_Row]]:
    """Rows of a label, those that belong side by side in one."""
    found: list[list[_Row]] = []
    before: str | None = None
    for row in label.rows:
        if before is not None and (before, row.name) in _IN_ONE_LINE:
            found[-1].append(_parted(row))
        else:
            found.append([_parted(row)])
        before = row.name
    return found


def _parted(row: LabelRow) -> _Row:
    """A row with its allergens apart from the rest of its value."""
    parts: list[tuple[str, bool]] = []
    rest = row.value
    for name in row.allergens:
        before, found, after = rest.partition(name)
        if not found:
            continue
        parts += [(before, False), (name, True)]
        rest = after
    return _Row(
        row.name, row.head, tuple((_together(text), bold) for text, bold in (*parts, (rest, False)) if text)
    )


def _together(text: str) -> str:
    """A figure and its unit stay in one line."""
    return re.sub(r"(?<=\d) (?=(?:C|F|g)\b)", "\u00a0", text)
