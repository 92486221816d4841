"""One look for all figures: flour and ink. Marks of a spec name a style, here it gets its colour.

On a page the colours are custom properties of its style sheet, so that a figure follows light, dark and
paper without being drawn again. A file has the colours of paper written into it.
"""

from collections.abc import Mapping
from textwrap import wrap
from typing import Any

from assistant.sheets.charts.figure import Figure, Spec

ROLES = ("ink", "quiet", "line", "band", "grain", "water", "paper")
"""Colours that a figure knows by what they are for."""
PAPER = {
    "ink": "#241f1a",
    "quiet": "#5f574d",
    "line": "#ddd5c8",
    "band": "#efe3c8",
    "grain": "#8a6429",
    "water": "#1f5673",
    "paper": "#ffffff",
}
"""On white. Ink, quiet, grain and water have at least 4.5 to 1 on paper and band (WCAG 2.2, 1.4.3)."""
PAGE = {role: f"var(--chart-{role})" for role in ROLES}
"""On a page: its style sheet says which colours."""
FONT = "DejaVu Sans, Verdana, sans-serif"
SIZE = 13
"""Letters (pixels)."""
LETTERS = 100
"""As many of them are in a line of a picture's key."""
_TITLE_PX, _LINE_PX = 44, 15
"""What title and a line of the key take of a picture's height (pixels)."""


def themed(figure: Figure, colours: Mapping[str, str], **more: Any) -> Spec:
    """The figure's spec with the look in these colours."""
    styles = _styles(colours)
    layers = [{**one, "mark": _drawn(one["mark"], styles)} for one in figure.spec["layer"]]
    return {**figure.spec, **more, "layer": layers, "config": _config(colours, figure.decimal_mark)}


def for_page(figure: Figure) -> Spec:
    """The figure as the page draws it: title, key and name stand beside it in HTML."""
    spec = themed(figure, PAGE)
    # It is one picture with one name; what is in it is in the table.
    silent = [{**one, "mark": {**one["mark"], "aria": False}} for one in spec["layer"]]
    return {**spec, "layer": silent, "config": {**spec["config"], "aria": False}}


def for_file(figure: Figure) -> Spec:
    """The figure as a picture of its own, with title and key, on white."""
    reads = [line for one in figure.reads for line in wrap(one, LETTERS)]
    height = figure.spec["height"] + _TITLE_PX + _LINE_PX * len(reads)
    title = {"text": figure.title, "subtitle": reads}
    paper = {"background": PAPER["paper"], "description": figure.title, "height": height}
    return themed(figure, PAPER, title=title, **paper)


def _drawn(mark: Spec, styles: Mapping[str, Spec]) -> Spec:
    """The mark with what its style says; what it says itself counts more."""
    own = {key: value for key, value in mark.items() if key != "style"}
    return {**styles[mark["style"]], **own}


def _styles(colours: Mapping[str, str]) -> dict[str, Spec]:
    """Look of the marks, by the names that figures give them."""
    ink, paper, grain, water = (colours[role] for role in ("ink", "paper", "grain", "water"))
    text = {"font": FONT, "fontSize": SIZE, "color": ink}
    return {
        "band": {"color": colours["band"], "opacity": 1},
        "column": {"color": grain, "opacity": 1},
        "circle": {"fill": grain, "stroke": grain, "opacity": 1},
        "spread": {"color": grain, "strokeWidth": 6, "strokeCap": "butt"},
        "water": {"color": water, "strokeWidth": 2.5},
        "drop": {"fill": water, "stroke": paper, "strokeWidth": 1, "opacity": 1},
        "gone": {"fill": paper, "stroke": water, "strokeWidth": 1.5, "opacity": 1},
        "verdict": {"fill": paper, "stroke": ink, "strokeWidth": 1.8, "opacity": 1},
        "target": {"color": ink, "strokeWidth": 1.2},
        "likely": {"color": ink, "strokeDash": [7, 4], "strokeWidth": 1.4},
        "first": {"color": water, "strokeDash": [2, 3], "strokeWidth": 2},
        "tick": {"color": water, "opacity": 1},
        "dot": {"fill": ink, "stroke": paper, "strokeWidth": 1, "opacity": 1},
        "mixing": {"color": grain, "opacity": 1},
        "resting": {"fill": paper, "stroke": grain, "strokeWidth": 1.5, "opacity": 1},
        "label": text,
        "on_grain": {**text, "color": paper},
    }


def _config(colours: Mapping[str, str], decimal_mark: str) -> Spec:
    ink, quiet = colours["ink"], colours["quiet"]
    small = {"labelFontSize": SIZE - 1, "titleFontSize": SIZE - 1, "titleFontWeight": "normal"}
    number = {"decimal": decimal_mark, "thousands": "", "grouping": [3], "currency": ["", ""]}
    return {
        "background": None,
        "font": FONT,
        "locale": {"number": number},
        "title": {
            "anchor": "start",
            "color": ink,
            "fontSize": SIZE + 3,
            "subtitleColor": quiet,
            "subtitleFontSize": SIZE - 1,
            "subtitlePadding": 6,
            "offset": 14,
        },
        "view": {"stroke": None},
        "axis": {
            **small,
            "labelColor": ink,
            "titleColor": quiet,
            "gridColor": colours["line"],
            "domainColor": quiet,
            "tickColor": quiet,
            "labelPadding": 6,
            "labelFlush": False,
        },
    }
