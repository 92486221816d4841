"""Pages of HTML: nothing inline, names escaped, allergens set apart, nothing that the batch does not know."""

import re
from dataclasses import replace
from datetime import UTC
from html.parser import HTMLParser

from assistant.devices.printer.label_sizes import LABEL_SIZES, USUAL_SIZE
from assistant.dough.ingredients import Addition
from assistant.sheets.label import Tray, label_of
from assistant.sheets.paper.paper_pages import Look, label_page, sheet_page
from assistant.sheets.paper.paper_style import (
    LABEL_POINTS,
    LEAST_X_MM,
    POINT_MM,
    ROLL_POINTS,
    X_HEIGHT,
    paper_style,
    text_class,
)
from assistant.sheets.sheet import Moment, Phrase, Sheet, SheetLine
from tests.sheets.test_label import APRIL, KITCHEN, SHEET
from tests.sheets.words import english

NASTY = "<script>alert(1)</script> & \"'"
SIZE = LABEL_SIZES[USUAL_SIZE]


class Page(HTMLParser):
    """The elements of a page, and the text of each class."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[str] = []
        self.strong: list[str] = []
        self.text = ""
        self._in_strong = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [name for name, _ in attrs]
        self._in_strong = tag == "strong"

    def handle_endtag(self, tag: str) -> None:
        if tag == "strong":
            self._in_strong = False

    def handle_data(self, data: str) -> None:
        self.text += data
        if self._in_strong:
            self.strong.append(data)


def label(sheet: Sheet, tray: Tray | None = None) -> Page:
    made = label_of(sheet, english(), KITCHEN.of(sheet), tray=tray, zone=UTC)
    return Page(label_page([made], SIZE, Look()))


def named(name: str) -> Sheet:
    """A batch in which everything that a cook or a kitchen names has this name."""
    moment = Moment(0.0, APRIL, wall_trusted=True)
    line = SheetLine(moment, Phrase("lines.die", {"die": name}))
    return replace(SHEET, lot=name, recipe=name, dies=(name,), lines=(line,), flours=("semolina",))


def test_names_of_a_cook_stay_text_and_no_page_has_a_script_or_a_style_of_its_own() -> None:
    pages = [
        label(named(NASTY), Tray(1)),
        Page(sheet_page(named(NASTY), english(), KITCHEN, Look(), zone=UTC)),
    ]
    for page in pages:
        assert {"script", "style", "b"} & set(page.tags) == set()
        assert not [one for one in page.attributes if one == "style" or one.startswith("on")]
        assert page.tags.count("link") == 1
        assert NASTY in page.text


def test_allergens_are_set_apart_from_the_rest_of_the_line() -> None:
    """Regulation (EU) 1169/2011, article 21(1)(b), from memory: a typeset that clearly distinguishes them."""
    sheet = replace(SHEET, additions=(Addition("squid ink", 20, 88), Addition("whole egg", 10, 76)))
    assert label(sheet).strong == ["gluten (wheat)", "eggs", "molluscs", "wheat", "egg"]
    assert label(replace(SHEET, flours=("rice flour",))).strong == []
    rule = re.search(r"\.label \.allergen \{([^}]*)\}", paper_style())
    assert rule is not None
    assert "font-weight: bold" in rule[1]
    assert "font-weight: bold" not in re.search(r"\.label p \{([^}]*)\}", paper_style())[1]  # type: ignore[index]


def test_letters_of_a_label_are_never_below_the_least_that_is_legal() -> None:
    """Article 13(2), from memory: an x-height of 1.2 mm at least."""
    assert min(*LABEL_POINTS, ROLL_POINTS) * POINT_MM * X_HEIGHT >= LEAST_X_MM == 1.2
    for points in (*LABEL_POINTS, ROLL_POINTS):
        assert f".{text_class(points)} {{ font-size: {points:g}pt; }}" in paper_style()
    smaller = re.findall(r"\.label[^{]*\{[^}]*font-size: ([0-9.]+)em", paper_style())
    assert all(float(one) >= 1 for one in smaller), "no part of a label is smaller than its text"


def test_a_label_shows_nothing_that_the_batch_does_not_know() -> None:
    bare = replace(
        SHEET,
        lot=None,
        dies=(),
        outcome="open",
        portions=0,
        wet=Moment(0.0, APRIL, wall_trusted=False),
    )
    text = label(bare, Tray(2)).text
    assert "lot" not in text
    assert "2026" not in text, "no date without a set clock"
    assert text.count("________") == 5, "weight, portions, made, cold by and use by are written by hand"
    assert re.search(r"\d+ g", text.replace("\u00a0", " ")) is None


def test_a_sheet_that_leaves_lines_out_says_how_many_and_keeps_the_account() -> None:
    moment = Moment(0.0, APRIL, wall_trusted=True)
    steps = [
        SheetLine(moment, Phrase("lines.walk_step", {"walk": "opening check", "step": at, "text": "Dry it."}))
        for at in range(1, 11)
    ]
    pours = [SheetLine(moment, Phrase("lines.water", {"grams": float(at)})) for at in range(1, 6)]
    sheet = replace(SHEET, lines=(*steps, *pours))
    page = Page(sheet_page(sheet, english(), KITCHEN, Look(), most_lines=7, zone=UTC))
    assert "8 more lines have no room here: crumbcall sheet 4 has them all." in page.text
    assert all(f"water {at} g" in page.text for at in range(1, 6))
    assert page.text.count("opening check") == 2
    whole = Page(sheet_page(sheet, english(), KITCHEN, Look(), zone=UTC))
    assert "more lines" not in whole.text
    assert whole.text.count("opening check") == 10


def test_verdicts_and_the_end_stay_where_a_page_is_full_of_pours() -> None:
    moment = Moment(0.0, APRIL, wall_trusted=True)
    pours = [SheetLine(moment, Phrase("lines.water", {"grams": 100.0 + at})) for at in range(20)]
    void = SheetLine(moment, Phrase("lines.scrap", {"grams": 9.0}), struck=True)
    crumb = SheetLine(moment, Phrase("lines.crumb", {"verdict": "ready"}))
    end = SheetLine(moment, Phrase("lines.closed", {}))
    sheet = replace(SHEET, lines=(*pours[:10], crumb, void, *pours[10:], end))
    page = Page(sheet_page(sheet, english(), KITCHEN, Look(), most_lines=7, zone=UTC))
    assert "16 more lines" in page.text
    for kept in ("crumb ready", "batch closed", "water 100 g", "water 101 g", "water 118 g", "water 119 g"):
        assert kept in page.text
    assert "scrap 9 g" not in page.text
