"""Printouts, measured by other programs: PDFium and Pillow read what WeasyPrint wrote."""

import io
from dataclasses import replace
from datetime import UTC

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from assistant.devices.printer.label_sizes import LABEL_SIZES
from assistant.errors import PaperError
from assistant.sheets.label import Label, LabelRow, Tray, label_of
from assistant.sheets.paper.fitting import one_page, set_labels
from assistant.sheets.paper.paper_pages import Look, label_page, sheet_page
from assistant.sheets.paper.paper_style import points_for
from assistant.sheets.paper.typesetting import Printout, Setting, dots_of, picture_of
from assistant.sheets.sheet import Moment, Phrase, Sheet, SheetLine
from tests.sheets.test_label import APRIL, KITCHEN, SHEET
from tests.sheets.words import english

MM = 25.4 / 72.0


def label(sheet: Sheet = SHEET, tray: int = 1) -> Label:
    return label_of(sheet, english(), KITCHEN.of(sheet), tray=Tray(tray), zone=UTC)


def sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [(round(w * MM, 1), round(h * MM, 1)) for w, h in (page.get_size() for page in document)]
    finally:
        document.close()


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return " ".join(page.get_textpage().get_text_range() for page in document)
    finally:
        document.close()


def long_batch(lines: int) -> Sheet:
    """A batch of so many lines, some with long notes, all that a kitchen names as long as it may be."""
    name = "tagliatelle al nero con erbe di campo ab"

    def line(at: int) -> SheetLine:
        moment = Moment(60.0 * at, APRIL + 60.0 * at, wall_trusted=True)
        if at % 4 == 0:
            what = Phrase("lines.walk_step", {"walk": "opening check", "step": at, "text": "Dry it. " * 9})
            return SheetLine(moment, what, notes=(Phrase("notes.step_of_safety"),))
        notes = (Phrase("notes.taken_back"), Phrase("notes.early")) if at % 5 == 0 else ()
        return SheetLine(moment, Phrase("lines.water", {"grams": 150.0}), "voice", 31.0, at % 5 == 0, notes)

    return replace(SHEET, recipe=name, dies=(name,) * 4, lines=tuple(line(at) for at in range(lines)))


@pytest.mark.parametrize("lines", [1, 60, 150])
def test_a_batch_sheet_is_one_page_of_a4_however_long_the_batch_was(lines: int) -> None:
    sheet = long_batch(lines)
    html, made = one_page(
        "Batch 4",
        lambda look, most: sheet_page(sheet, english(), KITCHEN, look, most_lines=most, zone=UTC),
        lines,
        Look(),
    )
    assert sizes_mm(made.pdf) == [(210.0, 297.0)], "ISO 216"
    shown = html.count("<tr") - 1
    assert (shown == lines) is ("more lines" not in html)
    assert shown >= min(lines, 30)
    assert "Mind" in text_of(made.pdf), "the cautions are on it"


@pytest.mark.parametrize("name", [one.name for one in LABEL_SIZES.values() if one.height is not None])
def test_a_label_has_the_size_that_was_asked_for_and_all_its_words(name: str) -> None:
    size, wanted = LABEL_SIZES[name], label()
    _, made = set_labels([wanted, label(tray=2)], size, Look())
    assert sizes_mm(made.pdf) == [(size.width, size.height)] * 2
    text = "".join(text_of(made.pdf).split())
    for row in wanted.rows:
        assert "".join(f"{row.head}:{row.value}".split()) in text
    assert made.media == f"Custom.{name}mm"
    edges = made.dots(8.0)[0]
    side = int(8 * size.margin) - 2
    assert not edges[:, :side].any()
    assert not edges[:, -side:].any()
    assert not edges[-side:].any(), "nothing is cut off at the foot"


@pytest.mark.parametrize("lines", [12, 60])
def test_the_guess_of_the_size_of_text_fits_too(lines: int) -> None:
    look = Look().sized(points_for(lines))
    assert Setting(sheet_page(long_batch(lines), english(), KITCHEN, look, zone=UTC)).pages == 1


@pytest.mark.parametrize("name", ["roll-58", "roll-80"])
def test_a_roll_is_as_long_as_its_text(name: str) -> None:
    size = LABEL_SIZES[name]
    (short,) = sizes_mm(set_labels([label()], size, Look())[1].pdf)
    more = replace(SHEET, carried_over=("egg", "fish", "milk", "nuts", "celery", "mustard"))
    (long,) = sizes_mm(set_labels([label(more)], size, Look())[1].pdf)
    assert short[0] == long[0] == size.width
    assert short[1] < long[1] < 120
    _, both = set_labels([label(), label(more)], size, Look())
    assert both.media == f"Custom.{size.width:g}x{long[1]:g}mm", "no more paper than it takes"


def test_the_letters_on_the_paper_are_as_high_as_the_law_wants() -> None:
    """Article 13(2) of Regulation (EU) 1169/2011, from memory: x-height 1.2 mm, measured in the dots."""
    crowded = replace(SHEET, recipe="squid ink", carried_over=("egg", "fish", "milk"))
    look, _ = set_labels([label(crowded)], LABEL_SIZES["57x32"], Look())
    only_x = Label("x", "x", ())
    page = label_page([only_x], LABEL_SIZES["57x32"], look)
    setting = Setting(page, "@page { size: 57mm 32mm; margin: 0 }")
    (dots,) = dots_of(setting.pdf(), 40.0)
    rows = np.flatnonzero(dots.any(axis=1))
    second = rows[rows > rows[0] + 60]  # below the title, which is larger
    assert (second[-1] - second[0] + 1) / 40.0 >= 1.2


def test_what_does_not_fit_is_said_with_what_to_do() -> None:
    crowded = replace(
        SHEET, recipe="squid ink " * 8, carried_over=("egg", "fish", "milk", "nuts", "celery", "mustard")
    )
    with pytest.raises(PaperError, match=r"does not fit on 57x32 mm .* take a larger size"):
        set_labels([label(crowded)], LABEL_SIZES["57x32"], Look())
    set_labels([label(crowded)], LABEL_SIZES["62x100"], Look())


@pytest.mark.parametrize("name", ["57x32", "62x100", "roll-58"])
def test_no_allergen_is_broken_in_the_middle_of_a_word(name: str) -> None:
    crowded = replace(SHEET, recipe="squid ink", carried_over=("egg", "fish", "celery"))
    _, made = set_labels([label(crowded)], LABEL_SIZES[name], Look())
    words = text_of(made.pdf).replace(",", " ").replace(":", " ").split()
    for allergen in ("wheat", "egg", "fish", "celery"):
        assert any(word.strip("()") == allergen for word in words), allergen


def test_an_allergen_that_is_wider_than_the_label_is_not_cut_off() -> None:
    row = LabelRow("eu", "EU, UK", "contains " + "w" * 40, ("w" * 40,))
    wide = Label("rigatoni", "batch 4", (row,))
    with pytest.raises(PaperError, match="does not fit"):
        set_labels([wide], LABEL_SIZES["57x32"], Look())
    set_labels([wide], LABEL_SIZES["100x50"], Look())


def test_what_the_head_does_not_reach_stays_blank() -> None:
    _, made = set_labels([label()], LABEL_SIZES["100x50"], Look(), head_mm=72.0)
    (dots,) = made.dots(8.0)
    assert not dots[:, : 14 * 8 - 1].any()
    assert not dots[:, -14 * 8 + 1 :].any()


def test_a_picture_has_the_dots_and_says_how_dense_they_are() -> None:
    _, made = set_labels([label()], LABEL_SIZES["89x36"], Look())
    (dots,) = made.dots(8.0)
    with Image.open(io.BytesIO(picture_of(dots, 8.0))) as picture:
        assert (picture.format, picture.mode) == ("PNG", "1")
        assert round(picture.info["dpi"][0]) == 203
        assert np.array_equal(~np.asarray(picture), dots)


def test_nothing_is_fetched_for_a_page() -> None:
    page = '<html lang="en"><link rel="stylesheet" href="http://127.0.0.1:9/x.css">x'
    assert Setting(page).pages == 1
    assert isinstance(Printout("x", Setting(page).pdf()).dots(1.0), list)


def test_a_sheet_on_letter_is_one_page_of_it() -> None:
    sheet = long_batch(60)
    _, made = one_page(
        "Batch 4",
        lambda look, most: sheet_page(sheet, english(), KITCHEN, look, most_lines=most, zone=UTC),
        60,
        Look(paper="letter"),
    )
    assert (sizes_mm(made.pdf), made.media) == ([(215.9, 279.4)], "Letter")


def test_a_label_ends_with_who_made_it() -> None:
    maker = "Hotel Example, 1 Mill Lane, Sampletown"
    made = label_of(SHEET, english(), KITCHEN.of(SHEET), tray=Tray(1), maker=maker, zone=UTC)
    _, printed = set_labels([made], LABEL_SIZES["62x100"], Look())
    assert " ".join(text_of(printed.pdf).split()).endswith(maker)
