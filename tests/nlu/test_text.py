"""Typed text made plain."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.nlu.tokens import Token, tokens


@pytest.mark.parametrize(
    ("text", "labels", "texts"),
    [
        ("Water, ONE fifty!", "water one fifty", "water one fifty"),
        ("twenty-five", "twenty five", "twenty five"),
        ("what\u2019s next?", "what's next", "what's next"),
        ("'tis (so)", "tis so", "tis so"),
        ("150g", "# g", "150 g"),
        ("2,000 g.", "# g", "2000 g"),
        ("1,234,567.5", "#", "1234567.5"),
        ("1,5", "#", "1.5"),
        ("31.5%", "# %", "31.5 %"),
        (".5 l", "# l", ".5 l"),
        ("7", "7", "7"),
        ("07", "#", "07"),
        ("150.", "#", "150"),
        ("1h30m", "# h # m".replace("# h", "1 h"), "1 h 30 m"),
        ("24-117", "# #", "24 117"),
        ("-5", "- 5", "- 5"),
        ("water -5", "water - 5", "water - 5"),
        ("water - 5", "water 5", "water 5"),
        ("1:30", "1 : #", "1 : 30"),
        ("mix: 90", "mix #", "mix 90"),
        ("", "", ""),
    ],
)
def test_tokens(text: str, labels: str, texts: str) -> None:
    found = tokens(text)
    assert " ".join(token.label for token in found) == labels
    assert " ".join(token.text for token in found) == texts


def test_a_typed_hash_is_no_number() -> None:
    assert tokens("#") == [Token("", "#")]


@given(st.text())
def test_nothing_typed_is_lost_but_spaces_and_punctuation(text: str) -> None:
    kept = "".join(token.text for token in tokens(text))
    letters = [sign for sign in text.casefold() if sign.isalnum()]
    assert [sign for sign in kept if sign.isalnum()] == letters
