"""What can be said behind a sentence, in the same command."""

import pytest

from assistant.config.resources import grammar_folder
from assistant.nlu import load_grammar
from assistant.ports import Asking
from tests.nlu.grammars import grammar

RULES = """
public <command> = mix [<long>] {command=mix} | undo {command=undo}
    | rest {command=rest} [<long>] | rest {command=rest} and {then} {command=mix} mix;
<long> = [for] two {+2} (minutes {*60} | <VOID> {typed m} {*60}) | a very very long while {+9};
public <answer> = yes {command=answer} {yes=true} [chef];
"""


@pytest.mark.parametrize(
    ("text", "asking", "following"),
    [
        ("mix", Asking.NOTHING, ["two minutes", "for two minutes"]),  # "a very very long while" is too long
        ("mix two minutes", Asking.NOTHING, []),
        ("undo", Asking.NOTHING, []),
        ("yes", Asking.ANSWER, ["chef"]),
        ("mix", Asking.ANSWER, ["two minutes", "for two minutes"]),
        ("yes", Asking.NOTHING, None),
        ("mix two", Asking.NOTHING, None),
        ("mix two m", Asking.NOTHING, None),  # only typed
        ("basil", Asking.NOTHING, None),
        ("", Asking.NOTHING, None),
    ],
)
def test_what_can_follow(text: str, asking: Asking, following: list[str] | None) -> None:
    found = grammar(RULES).continuations(text, asking=asking)
    assert (None if found is None else sorted(found, key=len)) == following


def test_a_second_command_does_not_count() -> None:
    tested = grammar(RULES)
    assert tested.parse("rest and mix") is not None
    found = tested.continuations("rest")
    assert found is not None
    assert sorted(found, key=len) == ["two minutes", "for two minutes"]


def test_what_follows_is_a_sentence() -> None:
    shipped = load_grammar(grammar_folder() / "commands.jsgf")
    found = list(shipped.continuations("no", asking=Asking.AMOUNT) or ())
    assert "two" in found
    assert all(shipped.parse(f"no {more}", asking=Asking.AMOUNT) is not None for more in found)
