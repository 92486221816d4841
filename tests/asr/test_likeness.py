"""How alike phones and sentences sound: a distance, and a search that finds what is nearest by it."""

# ruff: noqa: RUF001 - the letters of the IPA

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.asr.confidence import ALONE
from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.likeness import apart, as_heard, nearest, ways_of
from assistant.asr.network import PhonemeNetwork
from assistant.asr.phoneme import Expert, PhonemeRecogniser
from assistant.asr.phones import (
    OMITTED,
    PHONES,
    distance,
    english,
    omitted,
    shared_out,
    unlike,
    without_accents,
)
from assistant.nlu.grammar import Grammar
from tests.nlu.grammars import grammar, sentences

phones = st.lists(st.sampled_from(sorted(PHONES)), max_size=6)


@given(st.sampled_from(sorted(PHONES)), st.sampled_from(sorted(PHONES)))
def test_two_phones_are_unlike_alike_from_both_sides(one: str, other: str) -> None:
    assert unlike(one, other) == unlike(other, one)
    assert 0 <= unlike(one, other) <= 1
    assert (unlike(one, other) == 0) == (one == other)


@given(phones, phones)
def test_the_distance_is_one(one: list[str], other: list[str]) -> None:
    assert distance(one, other) == pytest.approx(distance(other, one))
    assert distance(one, one) == 0
    assert distance(one, other) <= sum(omitted(phone) for phone in (*one, *other)) + 1e-9


@given(phones, st.sampled_from(sorted(PHONES)), st.integers(0, 6))
def test_a_phone_more_is_no_further_than_that_phone(some: list[str], phone: str, place: int) -> None:
    more = [*some[:place], phone, *some[place:]]
    assert distance(some, more) <= omitted(phone) + 1e-9


def test_what_sounds_alike_is_nearer() -> None:
    assert unlike("b", "p") < unlike("b", "m") < unlike("b", "s")
    assert unlike("i", "ɪ") < unlike("i", "ɑ")
    assert distance(["f", "ɪ", "f", "tʰ", "i", "n"], ["f", "ɪ", "f", "ɾ", "ɪ"]) < distance(
        ["f", "ɪ", "f", "tʰ", "i", "n"], ["t", "w", "ɛ", "l", "v"]
    )
    assert distance([], ["k"]) == OMITTED


def test_other_languages_phones_become_english_ones() -> None:
    assert english(["χ", "a", "g", "u"]) == ("ɹ", "a", "g", "u")
    assert english(["s", "t", "r", "o", "t", "t", "͡", "s", "a"]) == ("s", "t", "ɹ", "o", "t", "s", "a")
    assert english(["ɲ", "ː"]) == ("n", "j")
    assert without_accents("crème pâtissière") == "creme patissiere"


def test_what_was_heard_is_shared_out_among_the_words() -> None:
    that, her, into = ["ð", "æ", "t", "s"], ["h", "ɝ"], ["ɪ", "n"]
    assert shared_out(["ð", "æ", "t", "s", "ɹ", "ɪ", "ŋ"], [that, her, into]) == [
        ("ð", "æ", "t", "s"),
        ("ɹ",),
        ("ɪ", "ŋ"),
    ]
    assert shared_out([], [that, her]) == [(), ()]
    assert shared_out(["ɪ", "n"], [her, into]) == [(), ("ɪ", "n")]


NETWORK = PhonemeNetwork()
WORDS = {
    "mix": ["m ɪ k s"],
    "six": ["s ɪ k s"],
    "rest": ["ɹ ɛ s t"],
    "water": ["w ɔ t ɝ"],
    "fifty": ["f ɪ f ɾ ɪ"],
    "fifteen": ["f ɪ f tʰ i n"],
    "mixed": ["m ɪ k s t"],
    "wrist": ["ɹ ɪ s t"],
    "whiffy": ["w ɪ f i", "ʃ u"],
}


def small() -> Grammar:
    return grammar(
        "public <a> = mix {command=mix} | rest {command=rest}"
        " | water {command=water} (fifty {+50} | fifteen {+15} | six {+6});"
    )


def recogniser() -> PhonemeRecogniser[object]:
    lexicon = Lexicon(Pronunciations(Path("words.toml"), WORDS), NETWORK.symbols)
    rules = small()
    return PhonemeRecogniser(
        [Expert(NETWORK, lexicon)],
        rules.layer,
        meaning=lambda text, asking: rules.parse(text, asking=asking),
        confidence=ALONE["kitchen"],
    )


@pytest.mark.parametrize(
    ("said", "first"),
    [
        ("mixed", "mix"),
        ("wrist", "rest"),
        ("water whiffy", "water fifty"),
        ("water fifteen", "water fifteen"),
    ],
)
def test_the_search_finds_the_nearest_of_all_sentences(said: str, first: str) -> None:
    """Against the distance to each sentence, one by one."""
    tested = recogniser()
    found = nearest(tested, said)
    ways = ways_of(tested.lexicon, NETWORK.symbols, said)
    from assistant.ports import Asking

    by_hand = {
        text: apart(ways, ways_of(tested.lexicon, NETWORK.symbols, text))
        for text in sentences(small().graph(Asking.NOTHING), 3)
    }
    assert found[0].text == first == min(by_hand, key=lambda text: by_hand[text])
    assert found[0].phones == by_hand[first]
    assert all(one.phones <= other.phones for one, other in pairwise(found))
    assert all(near.phones == by_hand[near.text] for near in found)


def test_a_word_is_compared_in_the_way_that_is_nearest() -> None:
    tested = recogniser()
    ways = ways_of(tested.lexicon, NETWORK.symbols, "whiffy")
    assert ways == [("w", "ɪ", "f", "i"), ("ʃ", "u")]
    assert apart(ways, [("ʃ", "u")]) == 0


def test_what_would_be_written_is_most_likely_that_phone() -> None:
    rows = as_heard(["m", "i"], NETWORK.symbols, NETWORK.blank)
    best = [NETWORK.symbols[number] for number in rows.argmax(axis=1)]
    assert [one for one in best if one != "<blank>"] == ["m", "i"]
    assert np.all(rows <= 0)
