"""The phrase card as it is printed, read by another program: one page, large enough to read."""

import pypdfium2
import pytest
from pypdfium2 import raw

from assistant.errors import PaperError
from assistant.sheets.paper.card_fitting import set_card
from assistant.sheets.paper.paper_pages import Look
from assistant.sheets.paper.typesetting import Printout
from assistant.sheets.phrase_card import fewest
from tests.nlg.off_first import hand_before_off
from tests.sheets.paper.test_printouts import MM, sizes_mm, text_of
from tests.sheets.test_phrase_card import shipped
from tests.sheets.words import english

OF_A_CAPITAL = 0.729
"""Height of a capital of DejaVu Sans, in font sizes (1493 of 2048 units)."""


@pytest.fixture(scope="module")
def card() -> tuple[str, Printout]:
    """The card that ships, on A4."""
    return set_card(*shipped(), english(), Look())


def letter_sizes_mm(pdf: bytes, sentence: str) -> list[float]:
    """The least font size in each place where a sentence is printed."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        page = document[0].get_textpage()
        search, sizes = page.search(sentence), []
        while (found := search.get_next()) is not None:
            start, count = found
            letters = range(start, start + count)
            sizes.append(round(min(raw.FPDFText_GetFontSize(page.raw, at) for at in letters) * MM, 1))
        return sizes
    finally:
        document.close()


def test_it_is_one_page_of_a4_with_more_than_the_first_examples(card: tuple[str, Printout]) -> None:
    html, made = card
    assert (sizes_mm(made.pdf), made.media) == ([(210.0, 297.0)], "A4")
    groups, phrases = shipped()
    least = {one for said in fewest(groups, phrases).values() for one in said}
    second = [said[1] for rule, said in phrases.items() if len(said) > 1 and rule not in groups.left_out]
    assert any(f"<span>{one}</span>" in html for one in second if one not in least)


def test_it_is_one_page_of_letter_where_the_kitchen_has_that() -> None:
    groups, phrases = shipped()
    _, made = set_card(groups, fewest(groups, phrases), english(), Look(paper="letter"))
    assert (sizes_mm(made.pdf), made.media) == ([(215.9, 279.4)], "Letter")


def test_each_rule_shows_its_first_example_and_a_whole_one_all(card: tuple[str, Printout]) -> None:
    groups, phrases = shipped()
    read = " ".join(text_of(card[1].pdf).split())
    for group in groups.group:
        for rule in group.rules:
            for one in phrases[rule] if rule in groups.whole else phrases[rule][:1]:
                assert one in read, rule


def test_what_an_ordinary_batch_needs_has_capitals_of_five_millimetres(card: tuple[str, Printout]) -> None:
    groups, phrases = shipped()
    firsts = [phrases[rule][0] for group in groups.group if group.main for rule in group.rules]
    assert firsts
    # Short ones, as "mix", stand in smaller print too: in headings and in other sentences.
    largest = {one: max(letter_sizes_mm(card[1].pdf, one)) for one in firsts}
    assert {one: size for one, size in largest.items() if OF_A_CAPITAL * size < 5.0} == {}
    assert max(letter_sizes_mm(card[1].pdf, "cook rigatoni")) < min(largest.values())


def test_the_card_names_switching_off_before_a_hand_and_sends_none_in() -> None:
    assert not hand_before_off(english().text("card.note"), "en")
    _, phrases = shipped()
    assert not any(hand_before_off(one, "en") for said in phrases.values() for one in said)


def test_a_rule_of_the_kitchens_own_comes_last_and_is_escaped() -> None:
    groups, phrases = shipped()
    own = {**fewest(groups, phrases), "own_thing": ("swap the tray <now>",)}
    html, _ = set_card(groups, own, english(), Look())
    assert html.rindex("<h2>") < html.index("swap the tray &lt;now&gt;")


def test_more_than_a_page_is_refused_in_one_line() -> None:
    groups, phrases = shipped()
    many = {f"own{number}": ("one more",) for number in range(100)}
    with pytest.raises(PaperError, match=r"^the phrase card does not fit on one page; name rules[^\n]*$"):
        set_card(groups, {**fewest(groups, phrases), **many}, english(), Look())
