"""The style sheet of all paper: `paper.css`, and a rule for each size of text and of label. Pure.

Mandatory words of a label have an x-height of at least 1.2 mm (Regulation (EU) 1169/2011, article 13(2), from
memory; 0.9 mm where the largest side of the package is under 80 cm2, article 13(3), which a tray is not).
"""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Literal

from assistant.devices.printer.label_sizes import LABEL_SIZES

STYLE = "paper.css"
"""Where a page looks for its style sheet, unless told otherwise: beside it."""
FONT = "DejaVu Sans"
X_HEIGHT = 0.547
"""Of this font, in font sizes: 1120 of 2048 units (its table OS/2)."""
POINT_MM = 25.4 / 72.0
LEAST_X_MM = 1.2
"""Least x-height of a label (mm)."""

PaperSize = Literal["A4", "letter"]
"""What sheets are printed on."""
HEIGHTS_MM: Mapping[str, float] = {"A4": 297.0, "letter": 279.4}
"""Of a sheet of paper (ISO 216, ANSI Y14.1 size A)."""
_MARGINS_MM = 20.0
"""Above and below the text of a sheet, both together: as `paper.css` has them."""

SHEET_POINTS = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0, 5.5)
"""Sizes of text on a sheet, the largest that fits is taken."""
LABEL_POINTS = (14.0, 12.0, 11.0, 10.0, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5)
"""Sizes of text on a label; the least has an x-height of 1.25 mm."""
ROLL_POINTS = 9.0
"""Size of text on a roll, which is as long as it has to be."""


def points_for(lines: int, paper: PaperSize = "A4") -> float:
    """Size of text (pt) in which a sheet of so many lines likely fits on one page, without setting it.

    A row is about half a point in mm high, a quarter of the lines takes two, and what stands above and below
    is worth 25 rows (counted on sheets that were set).
    """
    room = HEIGHTS_MM[paper] - _MARGINS_MM
    return next((one for one in SHEET_POINTS if 1.25 * lines + 25 <= room / (0.526 * one)), SHEET_POINTS[-1])


def paper_class(paper: PaperSize) -> str:
    """The class of a page on this paper; A4 is what a page is set on anyway."""
    return "" if paper == "A4" else f"on-{paper}"


def text_class(points: float) -> str:
    """The class of a size of text."""
    return f"text-{points * 4:.0f}"


@cache
def paper_style() -> str:
    """The style sheet, to be linked or served beside the pages."""
    texts = sorted({*SHEET_POINTS, *LABEL_POINTS, ROLL_POINTS})
    rules = [f".{text_class(one)} {{ font-size: {one:g}pt; }}" for one in texts]
    rules += [
        f".size-{one.name} {{ width: {one.width - 2 * one.margin:g}mm; padding: {one.margin:g}mm;"
        + (f" height: {one.height - 2 * one.margin:g}mm;" if one.height is not None else "")
        + " }"
        for one in LABEL_SIZES.values()
    ]
    text = files("assistant.sheets.paper").joinpath("templates/paper.css").read_text(encoding="utf-8")
    return "\n".join([text, *rules, ""])
