"""Sentences that are listened for and mean nothing."""

import pytest

from assistant.batch.record.commands import AddFlour, AddWater, Command, GivenAmount, Mix, Undo
from assistant.config.resources import grammar_folder
from assistant.nlu import load_grammar
from assistant.nlu.grammar import Grammar
from assistant.nlu.jsgf import parse_jsgf
from assistant.ports import Asking
from tests.nlu.grammars import accepts, jsgf

RULES = """
public <command> = <core>;
<core> = mix {command=mix} | undo {command=undo} | never mind {command=undo};
public <talk> = (not | never)* <core> | never mind the mix | never mind the mix | mix of herbs;
"""


def talking() -> Grammar:
    return Grammar(parse_jsgf(jsgf(RULES), "talk.jsgf"))


@pytest.mark.parametrize(
    "text", ["not mix", "never undo", "not not mix", "mix of herbs", "never mind the mix"]
)
def test_talk_is_heard_and_means_nothing(text: str) -> None:
    grammar = talking()
    assert accepts(grammar.listened(Asking.NOTHING), text)
    assert [grammar.parse(text, asking=asking) for asking in Asking] == [None] * len(Asking)
    assert grammar.mended(text) is None


def test_what_is_a_command_too_is_the_command() -> None:
    grammar = talking()
    assert grammar.parse("mix") == Mix()
    assert grammar.parse("never mind") == Undo()
    assert set(grammar.listened(Asking.NOTHING).words) >= {"not", "herbs"}
    assert grammar.words >= {"not", "herbs"}


def test_slots_and_answers_have_no_talk_of_their_own() -> None:
    grammar = talking()
    assert not accepts(grammar.listened(Asking.ANSWER), "not mix")
    assert not accepts(grammar.graph(Asking.ANSWER), "not mix")


@pytest.mark.parametrize(
    "text",
    [
        "don't close the batch",
        "i haven't poured the rest",
        "if we close the batch",
        "the crumb isn't ready",
        "close the books",
        "lots to do",
        "mix and match",
    ],
)
def test_the_grammar_that_ships_listens_for_what_is_not_meant(text: str) -> None:
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    assert accepts(grammar.listened(Asking.NOTHING), text)
    assert grammar.parse(text) is None


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("three hundred in", AddWater),
        ("that's three hundred in", AddWater),
        ("i poured three hundred", AddWater),
        ("three hundred of flour", AddFlour),
        ("that's three hundred", GivenAmount),
        ("three hundred", GivenAmount),
        ("no three hundred", GivenAmount),
    ],
)
def test_an_amount_that_says_what_it_is_of_is_no_bare_value(text: str, kind: type[Command]) -> None:
    """Right after another entry was read back it is one more, not its correction."""
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    assert isinstance(grammar.parse(text, asking=Asking.AMOUNT), kind)


@pytest.mark.parametrize(
    "text", ["about eighty", "there's eighty", "give it eighty", "about a minute", "i'm doing three"]
)
def test_an_amount_alone_is_talk_however_it_is_led_in(text: str) -> None:
    assert load_grammar(grammar_folder() / "commands.jsgf").parse(text) is None
