"""What is not in the grammar as it stands: short forms in full, a sentence at the end of a typed line."""

from pathlib import Path

import pytest

from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.network import BOUNDARY
from assistant.asr.short_forms import in_full, shorts
from assistant.config.resources import grammar_folder
from assistant.nlu import Grammar, load_grammar

FILE = Path("pronunciations.toml")
SYMBOLS = ("<blank>", BOUNDARY, "i", "t", "s", "z", "h", "æ")
IT_S, IT, IS, HAS = (2, 3, 4), (2, 3), (2, 5), (6, 7, 5)


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(grammar_folder() / "commands.jsgf")


@pytest.mark.parametrize(
    ("short", "pairs"),
    [
        ("it's", (("it", "is"), ("it", "has"))),
        ("we're", (("we", "are"),)),
        ("let's", (("let", "us"),)),
        ("chef's", ()),
        ("tray's", ()),
        ("don't", ()),
        ("water", ()),
        ("'s", ()),
    ],
)
def test_a_short_form_stands_for_two_words(short: str, pairs: tuple[tuple[str, str], ...]) -> None:
    assert in_full(short) == pairs
    assert all(short in shorts(*pair) for pair in pairs)


def test_words_that_are_none_stand_for_none() -> None:
    assert shorts("chef", "is") == ()
    assert shorts("tray", "is") == ()
    assert shorts("let", "is") == ()
    assert shorts("water", "fifty") == ()


def test_it_is_spelled_in_full_too_with_a_boundary_or_spoken_on() -> None:
    words = {"it's": ["i t s"], "it": ["i t"], "is": ["i z"], "has": ["h æ z"]}
    lexicon = Lexicon(Pronunciations(FILE, words), SYMBOLS)

    assert lexicon("it's") == (
        IT_S,
        (*IT, 1, *IS),
        (*IT, *IS),
        (*IT, 1, *HAS),
        (*IT, *HAS),
    )
    assert lexicon("it") == (IT,)


@pytest.mark.parametrize(
    ("full", "short"),
    [
        ("that is fifty grams in", "that's fifty grams in"),
        ("it is gone dry", "it's gone dry"),
        ("let us mix for two minutes", "let's mix for two minutes"),
    ],
)
def test_both_are_understood(grammar: Grammar, full: str, short: str) -> None:
    assert grammar.parse(short) is not None
    assert grammar.parse(full) == grammar.parse(short)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("it isn't really quite mixed yet give it another minute", "give it another minute"),
        ("i was on the phone where are we", "where are we"),
        ("that was the last of this batch close it off", "close it off"),
        ("had a squeeze it's ready", "it's ready"),
    ],
)
def test_a_sentence_behind_a_clause(grammar: Grammar, typed: str, sentence: str) -> None:
    found = grammar.mended(typed)

    assert found is not None
    assert found.sentence == sentence


@pytest.mark.parametrize(
    "typed",
    [
        "whatever you do don't close the batch",
        "he told me not to add fifty",
        "i will call you before you close the batch",
        "table nine had two covers of water fifty",
        "the one that never works is timer three ten minutes until tomorrow",
        "the chef is",
    ],
)
def test_what_is_turned_round_or_goes_on_is_none(grammar: Grammar, typed: str) -> None:
    assert grammar.mended(typed) is None
