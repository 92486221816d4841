"""A sentence at the end of a typed line is asked about; one that the line turns round is not."""

import pytest

from assistant.config.resources import grammar_folder
from assistant.nlu import Grammar, load_grammar


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(grammar_folder() / "commands.jsgf")


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
    assert found[0] == sentence


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
