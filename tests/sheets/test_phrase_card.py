"""The phrase card: every documented rule, on one A4 page, large enough to read."""

import re
from html import unescape

import pytest

from assistant.config.language.card_groups import FILE, GROUPS, CardGroup, CardGroups, read_card_groups
from assistant.config.resources import grammar_folder
from assistant.errors import SettingsError
from assistant.nlu import load_grammar
from assistant.sheets.phrase_card import (
    ADVANCE,
    CAPITAL,
    COLUMN,
    HEIGHT,
    MAIN,
    MARGIN,
    WIDTH,
    card_blocks,
    card_figure,
    card_text,
    in_columns,
)
from tests.nlg.off_first import hand_before_off
from tests.sheets.words import english

PLACED = re.compile(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"[^>]*>([^<]*)</text>')


def shipped() -> tuple[CardGroups, dict[str, tuple[str, ...]]]:
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    return read_card_groups(grammar_folder() / FILE), dict(grammar.phrases())


def placed(svg: str) -> list[tuple[float, float, float, str]]:
    """Every text of the page: left, base line, font size (mm), letters."""
    found = [(float(x), float(y), float(size), unescape(text)) for x, y, size, text in PLACED.findall(svg)]
    assert len(found) == svg.count("<text")
    return found


def test_every_documented_rule_is_on_the_card_once_or_is_left_out_with_a_reason() -> None:
    groups, phrases = shipped()
    named = [rule for group in groups.group for rule in group.rules] + list(groups.left_out)
    assert sorted(named) == sorted(phrases)
    assert {group.name for group in groups.group} == set(GROUPS)
    assert set(groups.whole) <= {rule for group in groups.group for rule in group.rules}
    assert all(groups.left_out.values())


def test_the_text_has_every_example() -> None:
    groups, phrases = shipped()
    text = card_text(card_blocks(groups, phrases, english()), english())
    said = [one for rule in phrases.keys() - groups.left_out.keys() for one in phrases[rule]]
    assert [one for one in said if one not in text] == []


def test_the_page_is_a4_and_nothing_leaves_it_or_its_column() -> None:
    svg = card_figure(*shipped(), english())
    assert 'width="210mm" height="297mm" viewBox="0 0 210 297"' in svg
    title, *body, note = placed(svg)
    for left, base, size, text in (title, *body, note):
        assert left + ADVANCE * size * len(text) <= WIDTH - MARGIN, text
        assert base - size * CAPITAL >= MARGIN, text
        assert base <= HEIGHT - MARGIN, text
    for left, _, size, text in body:
        assert ADVANCE * size * len(text) <= COLUMN, (left, text)
    for (left, base, _, _), (beside, below, size, text) in zip(body, [*body[1:]], strict=False):
        assert beside > left or below - base >= size, text
    assert max(base for _, base, _, _ in body) < note[1] - note[2]


def test_what_an_ordinary_batch_needs_has_letters_of_five_millimetres() -> None:
    assert CAPITAL * MAIN >= 5.0
    groups, phrases = shipped()
    large = {text for _, _, size, text in placed(card_figure(groups, phrases, english())) if size == MAIN}
    firsts = [phrases[rule][0] for group in groups.group if group.main for rule in group.rules]
    assert firsts
    assert [one for one in firsts if not any(one in text for text in large)] == []


def test_each_rule_shows_its_first_example_and_a_whole_one_all() -> None:
    groups, phrases = shipped()
    page = " ".join(text.strip() for _, _, _, text in placed(card_figure(groups, phrases, english())))
    for group in groups.group:
        for rule in group.rules:
            for one in phrases[rule] if rule in groups.whole else phrases[rule][:1]:
                assert one in page, rule


def test_the_card_names_switching_off_before_a_hand_and_sends_none_in() -> None:
    svg = card_figure(*shipped(), english())
    assert not hand_before_off(placed(svg)[-1][3], "en")
    assert not any(hand_before_off(text, "en") for _, _, _, text in placed(svg))


def test_a_rule_of_the_kitchens_own_comes_last() -> None:
    groups, phrases = shipped()
    blocks = card_blocks(groups, {**phrases, "own_thing": ("swap the tray <now>",)}, english())
    assert (blocks[-1].heading, blocks[-1].rules) == (english().text("card.own"), (("swap the tray <now>",),))
    svg = card_figure(groups, {**phrases, "own_thing": ("swap the tray <now>",)}, english())
    assert "swap the tray &lt;now&gt;" in svg


def test_a_rule_that_the_grammar_lacks_leaves_no_heading_behind() -> None:
    groups = CardGroups((CardGroup("water", ("gone",)), CardGroup("mix", ("here",))))
    assert [block.rules for block in card_blocks(groups, {"here": ("now",)}, english())] == [(("now",),)]


def test_columns_keep_the_order_and_are_as_even_as_can_be() -> None:
    groups, phrases = shipped()
    blocks = card_blocks(groups, phrases, english())
    left, right = in_columns(blocks)
    assert [*left, *right] == blocks
    assert left
    assert right


def test_more_than_a_page_is_refused_in_one_line() -> None:
    groups, phrases = shipped()
    many = {f"own{number}": ("one more",) for number in range(100)}
    with pytest.raises(SettingsError, match=r"^the phrase card is \d+ mm longer than an A4 page; name rules"):
        card_figure(groups, {**phrases, **many}, english())
