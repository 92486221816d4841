"""Text as large as a page lets it be: sheets on one page, labels on their size. Lengths in mm."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from assistant.devices.printer.label_sizes import LONGEST_ROLL, LabelSize
from assistant.errors import PaperError
from assistant.sheets.label import Label
from assistant.sheets.paper.paper_pages import Look, label_page
from assistant.sheets.paper.paper_style import LABEL_POINTS, LEAST_X_MM, ROLL_POINTS, SHEET_POINTS
from assistant.sheets.paper.typesetting import Printout, Setting, dots_of, joined

MEDIA: Mapping[str, str] = {"A4": "A4", "letter": "Letter"}
"""Paper -> what CUPS calls it (PWG 5101.1 has these as former names, from memory)."""

Page = Callable[[Look, int | None], str]
"""A look, and the most lines to show (None: all) -> the HTML of a sheet."""

_MANY_LINES = 120
"""More lines than this fit no page."""
_NEAR_ENOUGH = 4
"""A page that could hold so few more lines is full."""
_LOOK_DOTS = 4.0
"""Dots a mm that are enough to see how far a text goes."""


def one_page(title: str, page: Page, lines: int, look: Look) -> tuple[str, Printout]:
    """A sheet on one page, as HTML and as printout, in the largest text that fits.

    `lines`: how many it has. What does not fit in the smallest text is left out by `page`. Raises PaperError.
    """

    def tried(points: float, most: int | None) -> tuple[str, Setting]:
        html = page(look.sized(points), most)
        return html, Setting(html)

    # Setting takes long: of what can't fit whole not every size is tried, nor every number of lines.
    sizes = list(SHEET_POINTS) if lines <= _MANY_LINES else [SHEET_POINTS[-1]]
    best: tuple[str, Setting] | None = None
    while sizes:
        points = sizes[len(sizes) // 2]
        if (found := tried(points, None))[1].pages == 1:
            best, sizes = found, [one for one in sizes if one > points]
        else:
            pages, sizes = found[1].pages, [one for one in sizes if one < points]
    if best is None:
        # Pages hold about as many lines each: the search begins between what that gives and none at all.
        low, high = 0, min(lines, 2 * lines // pages + 1)
        while low <= high and (best is None or high - low >= _NEAR_ENOUGH):
            middle = (low + high) // 2
            if (found := tried(SHEET_POINTS[-1], middle))[1].pages == 1:
                best, low = found, middle + 1
            else:
                high = middle - 1
    if best is None:
        raise PaperError(f"{title}: it does not fit on one page even without its lines; print it as text.")
    return best[0], Printout(title, best[1].pdf(), MEDIA[look.paper])


def set_labels(
    labels: Sequence[Label], size: LabelSize, look: Look, head_mm: float | None = None
) -> tuple[Look, Printout]:
    """Labels of one size, a page each, in the largest text that fits all. Raises PaperError.

    `head_mm`: width of what the printer reaches, in the middle of the label; None: all of it.
    """
    side = size.margin if head_mm is None else max(size.margin, (size.width - head_mm) / 2)
    for points in (ROLL_POINTS,) if size.height is None else LABEL_POINTS:
        sized = look.sized(points)
        pages = [_label(one, size, side, sized) for one in labels]
        found = [page for page in pages if page is not None]
        if len(found) == len(labels):
            # A queue takes one size for all pages: that of the tallest.
            media = f"Custom.{size.width:g}x{max(height for _, height in found):g}mm"
            pdf = joined([page for page, _ in found])
            return sized, Printout(labels[0].pasta, pdf, media, is_cut_label=size.height is not None)
    raise PaperError(
        f"the label of {labels[0].pasta} does not fit on {size.name} mm in the least letters that are legal "
        f"(x-height {LEAST_X_MM:g} mm); take a larger size, or one list of allergens ([label] allergen_list)."
    )


def _label(label: Label, size: LabelSize, side: float, look: Look) -> tuple[bytes, float] | None:
    """PDF of a label and its height; None where it does not fit."""
    html = label_page([label], size, look)
    height = size.height
    if height is None:
        height = _text_height(html, size, side)
    setting = Setting(html, _page_rule(size, side, height))
    if setting.pages > 1:
        return None
    pdf = setting.pdf()
    # No allergen is broken in the middle of a word: one that is too long shows in the margin.
    (dots,) = dots_of(pdf, _LOOK_DOTS)
    margin = int((side - 0.3) * _LOOK_DOTS)
    return None if dots[:, dots.shape[1] - margin :].any() else (pdf, height)


def _page_rule(size: LabelSize, side: float, height: float) -> str:
    return (
        f"@page {{ size: {size.width:g}mm {height:g}mm; margin: {size.margin:g}mm {side:g}mm; }}"
        " .label { padding: 0; width: auto; height: auto; }"
    )


def _text_height(html: str, size: LabelSize, side: float) -> float:
    """How long a roll is cut for this text (mm)."""
    setting = Setting(html, _page_rule(size, side, LONGEST_ROLL))
    if setting.pages > 1:
        raise PaperError(f"the label is longer than {LONGEST_ROLL:g} mm of roll; shorten its names.")
    (dots,) = dots_of(setting.pdf(), _LOOK_DOTS)
    rows = np.flatnonzero(dots.any(axis=1))
    return float(np.ceil((rows[-1] + 1) / _LOOK_DOTS + size.margin + 1.0)) if len(rows) else size.width
