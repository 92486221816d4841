"""The drawings show what the program says now, and nothing in them is cut off."""

import re
import xml.etree.ElementTree as ET
from functools import cache

import pytest

from tests.pictures.drawing import conversation_svg, sheet_svg, turns
from tests.write_pictures import FOLDER, PAGE, PAGE_SIZE, pictures

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = ("conversation.svg", "lot.svg", "sheet.svg")
MEASURED = ("lot.svg",)
"""Placed by the widths of this machine's letters: what they say is compared."""


@cache
def drawn() -> dict[str, str]:
    return pictures()


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawing_is_what_the_program_says_now(name: str) -> None:
    kept, now = (FOLDER / name).read_text(encoding="utf-8"), drawn()[name]
    if name in MEASURED:
        kept, now = (" | ".join(ET.fromstring(one).itertext()) for one in (kept, now))
    assert kept == now, f".pictures/{name} is out of date; run `python -m tests.write_pictures`"


def test_every_drawing_is_tested() -> None:
    assert sorted(drawn()) == sorted(DRAWN)
    assert sorted(path.name for path in FOLDER.iterdir()) == sorted([*DRAWN, PAGE.name])


def test_the_photograph_of_the_page_is_one_and_small() -> None:
    # it needs a browser: how it looks is not tested here
    data = PAGE.read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert (int.from_bytes(data[16:20]), int.from_bytes(data[20:24])) == PAGE_SIZE
    assert len(data) < 150_000


def test_a_conversation_shows_every_word_of_the_dialogue() -> None:
    said = "00:00  cook       water fifty\n00:00  crumbcall  Fifty <in>.\n00:00  crumbcall  Ten left.\n"
    texts = [text.text for text in ET.fromstring(conversation_svg(said)).iter(f"{SVG}text")]
    assert texts[2:] == ["00:00", "water fifty", "Fifty <in>. Ten left."]


def test_what_the_station_says_by_itself_is_a_turn_of_its_own() -> None:
    one, two, three = turns(
        "00:00  cook       mix\n00:00  crumbcall  Mixing.\n"
        "02:00  crumbcall  Time.\n02:00  cook       got it\n"
    )
    assert (one.said, one.replies) == ("mix", "Mixing.")
    assert (two.at, two.said, two.replies) == ("02:00", "", "Time.")
    assert (three.at, three.said, three.replies) == ("02:00", "got it", "")


def test_what_is_not_a_dialogue_is_refused() -> None:
    with pytest.raises(ValueError, match="not a line of a dialogue: 'Batch 13'"):
        conversation_svg("Batch 13\n")


def test_nothing_of_a_conversation_is_outside_the_picture() -> None:
    long = "word " * 60
    svg = ET.fromstring(conversation_svg(f"00:00  cook       {long}\n1:00:00  crumbcall  {long}\n"))
    width, height = float(svg.attrib["width"]), float(svg.attrib["height"])
    boxes = [
        {key: float(box.attrib[key]) for key in ("x", "y", "width", "height")}
        for box in svg.iter(f"{SVG}rect")
    ]
    assert len(boxes) == 3  # the paper and two bubbles
    for box in boxes:
        assert box["x"] + box["width"] <= width
        assert box["y"] + box["height"] <= height


def test_a_sheet_is_drawn_whole() -> None:
    facts = "Batch 4\n\nlot:   7\nflour: 1500 g\n"
    text = f"{facts}\ntime   since  what\n09:00   0:00  flour 1500 g\n\n- Keep it cold. (source)\n"
    words = " ".join("".join(one.itertext()) for one in ET.fromstring(sheet_svg(text)).iter(f"{SVG}text"))
    assert words.split() == text.split()
    assert re.search(r"<text[^>]*font-weight=\"600\"[^>]*>time   since", sheet_svg(text))
