"""The look of all figures: readable in ink on paper, nothing by colour alone, one spec for page and file."""

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from assistant.errors import SettingsError
from assistant.sheets.charts.drawing import svg_of, write_figure
from assistant.sheets.charts.figure import Figure, Table
from assistant.sheets.charts.theme import PAGE, PAPER, for_file, for_page
from assistant.sheets.charts.year_figures import Month, flour_figure
from tests.sheets.words import english
from tests.write_docs import ROOT

PAGES_CSS = ROOT / "assistant/board/static/pages.css"
MARCH = Month("2026-03", batches=4, flour_g=6000.0)


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb. Source: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio. Source: WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_published_ends() -> None:
    # WCAG 2.2: contrast ratios can range from 1 to 21.
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == 1.0


@pytest.mark.parametrize("role", ["ink", "quiet", "grain", "water"])
@pytest.mark.parametrize("ground", ["paper", "band"])
def test_what_is_drawn_stands_out_on_paper(role: str, ground: str) -> None:
    # WCAG 2.2, 1.4.3: 4.5 to 1 for text; 1.4.11: 3 to 1 for what a graphic needs to be understood.
    least = 4.5 if role in ("ink", "quiet") else 3.0
    assert contrast(PAPER[role], PAPER[ground]) >= least


def test_a_page_takes_its_colours_from_its_style_sheet() -> None:
    config = json.dumps(for_page(flour_figure([MARCH], english())))
    assert "#" not in config.replace("https://", "")
    named = set(re.findall(r"var\((--chart-\w+)\)", config)) | {
        "--chart-band",
        "--chart-water",
        "--chart-grain",
    }
    defined = set(re.findall(r"(--chart-\w+):", PAGES_CSS.read_text(encoding="utf-8")))
    assert named <= defined
    assert {f"var({one})" for one in defined} == set(PAGE.values())


def test_a_file_says_itself_what_it_shows() -> None:
    figure = flour_figure([MARCH], english())
    spec = for_file(figure)
    assert spec["title"] == {"text": figure.title, "subtitle": list(figure.reads)}
    words = [text.text for text in ET.fromstring(svg_of(figure)).iter("{http://www.w3.org/2000/svg}text")]
    assert {"Flour by month", "2026-03", "6.0", "kg"} <= set(words)


def test_svg_and_png_by_the_name_of_the_file(tmp_path: Path) -> None:
    figure = flour_figure([MARCH], english())
    write_figure(figure, tmp_path / "f.svg")
    write_figure(figure, tmp_path / "f.PNG")
    assert ET.parse(tmp_path / "f.svg").getroot().tag.endswith("svg")
    # PNG (Third Edition), 5.2: the signature.
    assert (tmp_path / "f.PNG").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_what_cannot_be_drawn_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    figure = flour_figure([MARCH], english())
    with pytest.raises(SettingsError, match=r"f\.pdf: \.pdf found, \.svg or \.png is allowed"):
        write_figure(figure, tmp_path / "f.pdf")
    with pytest.raises(SettingsError, match=r"can't be written \(No such file or directory\)"):
        write_figure(figure, tmp_path / "none" / "f.svg")
    empty = Figure("x", "Flour", (), figure.spec, Table(("a",), ()))
    with pytest.raises(SettingsError, match="nothing to draw yet"):
        write_figure(empty, tmp_path / "f.svg")
    monkeypatch.setitem(__import__("sys").modules, "vl_convert", None)
    with pytest.raises(SettingsError, match=r"pip install 'crumbcall\[charts\]'"):
        write_figure(figure, tmp_path / "f.svg")
    with pytest.raises(SettingsError, match=r"pip install 'crumbcall\[charts\]'"):
        write_figure(figure, tmp_path / "f.png")
