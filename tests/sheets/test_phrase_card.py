"""The phrase card: every documented rule is on it once, in the order of a batch."""

from itertools import pairwise

from assistant.config.language.card_groups import FILE, GROUPS, CardGroup, CardGroups, read_card_groups
from assistant.config.resources import grammar_folder
from assistant.nlu import load_grammar
from assistant.sheets.phrase_card import card_blocks, card_text, fewest, further, with_more
from tests.sheets.words import english


def shipped() -> tuple[CardGroups, dict[str, tuple[str, ...]]]:
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    return read_card_groups(grammar_folder() / FILE), dict(grammar.phrases())


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


def test_a_rule_that_the_grammar_lacks_leaves_no_heading_behind() -> None:
    groups = CardGroups((CardGroup("water", ("gone",)), CardGroup("mix", ("here",))))
    assert [block.rules for block in card_blocks(groups, {"here": ("now",)}, english())] == [(("now",),)]


def test_what_has_room_are_second_examples_before_third_ones_and_large_letters_last() -> None:
    phrases = {
        "a": ("a1", "a2"),
        "b": ("b1", "b2", "b3"),
        "c": ("c1", "c2"),
        "d": ("d1", "d2"),
        "e": ("e1", "e2"),
    }
    groups = CardGroups(
        (CardGroup("water", ("a",), main=True), CardGroup("mix", ("b", "c", "d"))),
        whole=("d",),
        left_out={"e": "of another card"},
    )
    assert fewest(groups, phrases)["d"] == ("d1", "d2")
    assert further(groups, phrases) == 4
    shown = [with_more(groups, phrases, count) for count in range(5)]
    more = [{one for said in now.values() for one in said} for now in shown]
    assert [sorted(after - before) for before, after in pairwise(more)] == [
        ["b2"],
        ["c2"],
        ["b3"],
        ["a2"],
    ]
