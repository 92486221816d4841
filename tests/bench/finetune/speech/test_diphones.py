# ruff: noqa: RUF001 - letters of the IPA
"""The British diphone voices: words without a lexicon. IPA as espeak-ng 1.51 writes en-gb-x-rp."""

from __future__ import annotations

from random import Random

import pytest

from tests.bench.finetune.speech import diphones

IPA = {
    "water": "wˈɔːtɐ",
    "eighty": "ˈeɪti",
    "seventy": "sˈɛvənti",
    "seventeen": "sˈɛvəntˌiːn",
    "fire": "fˈaɪə",
    "chair": "tʃˈeəɹ",
}


class Always(Random):
    """A random source that never varies: the share asked for is never reached."""

    def random(self) -> float:
        return 0.99


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("water", "w oo1 t @0"),
        ("eighty", "ei1 t i0"),
        ("seventy", "s e1 v @0 n t i0"),
        ("seventeen", "s e1 v @0 n t ii0 n"),
        ("fire", "f ai1 @0"),
        ("chair", "ch e@1 r"),
    ],
)
def test_a_word_in_the_phones_of_the_british_voices(word: str, phones: str) -> None:
    assert diphones.phones(IPA[word], Always()) == phones.split()


def test_twins_are_said_in_several_ways_and_stay_what_they_are() -> None:
    rng = Random(3)
    teens = {" ".join(diphones.phones(IPA["seventeen"], rng)) for _ in range(60)}
    tens = {" ".join(diphones.phones(IPA["seventy"], rng)) for _ in range(60)}
    assert {"s e1 v @0 n t ii0 n", "s e0 v @0 n t ii1 n"} == teens
    assert len(tens) == 6
    assert all(said.startswith("s e1 v @0 n") and said.endswith("i0") for said in tens)


def test_an_entry_for_each_word_once() -> None:
    lines = diphones.entries("water water eighty", IPA.__getitem__, Always())
    assert lines == [
        '(lex.add.entry (list "water" nil (lex.syllabify.phstress \'(w oo1 t @0))))',
        '(lex.add.entry (list "eighty" nil (lex.syllabify.phstress \'(ei1 t i0))))',
    ]


def test_an_unknown_sound_is_named() -> None:
    with pytest.raises(ValueError, match=r"no sound for 'ɬ'; add it to accents\.toml"):
        diphones.phones("ɬa", Always())
