"""How the man of `vits_voice` says number twins, and what he leaves unsaid; no weights are needed."""

from random import Random

import pytest

from tests.bench.finetune.speech.vits_voice import Words, dictionary, pronounced, twin
from tests.bench.finetune.spoken_numbers import TWINS

# From the CMU Pronouncing Dictionary 0.7b.
WORDS: Words = {
    "water": [["W", "AO1", "T", "ER0"]],
    "seventeen": [["S", "EH1", "V", "AH0", "N", "T", "IY1", "N"]],
    "seventy": [["S", "EH1", "V", "AH0", "N", "T", "IY0"], ["S", "EH1", "V", "AH0", "N", "IY0"]],
    "fifteen": [["F", "IH0", "F", "T", "IY1", "N"]],
    "fifty": [["F", "IH1", "F", "T", "IY0"]],
    "eighteen": [["EY0", "T", "IY1", "N"]],
    "eighty": [["EY1", "T", "IY0"]],
}


def ways(word: str, words: Words) -> set[str]:
    """All that comes of a word in many draws."""
    rng = Random(8)
    return {" ".join(twin(word, rng.choice(words[word]), rng)) for _ in range(300)}


def test_teens_are_stressed_first_or_last() -> None:
    assert ways("seventeen", WORDS) == {
        "S EH1 V AH0 N T IY1 N",
        "S EH2 V AH0 N T IY1 N",
        "S EH1 V AH0 N T IY2 N",
    }
    assert ways("eighteen", WORDS) == {"EY1 T IY1 N", "EY2 T IY1 N", "EY1 T IY2 N"}
    assert ways("fifteen", WORDS) == {"F IH1 F T IY1 N", "F IH2 F T IY1 N", "F IH1 F T IY2 N"}


def test_tens_end_in_t_d_or_after_an_n_in_none() -> None:
    stem = "S EH1 V AH0 N"
    ends = ("IY0", "IY2")
    assert ways("seventy", WORDS) == {f"{stem} {t}{end}" for t in ("T ", "D ", "") for end in ends}
    assert ways("eighty", WORDS) == {f"EY1 {t} {end}" for t in "TD" for end in ends}
    assert ways("fifty", WORDS) == {f"F IH1 F {t} {end}" for t in "TD" for end in ends}


def test_twins_stay_apart_in_the_whole_dictionary() -> None:
    try:
        words = dictionary()
    except ModuleNotFoundError as error:
        pytest.skip(str(error))
    for word in TWINS:
        assert all(said.endswith(" N") is word.endswith("teen") for said in ways(word, words))
    assert words["minute"] == [["M", "IH1", "N", "AH0", "T"]]
    assert words["litres"] == words["liters"]


def test_a_comma_is_a_pause_and_an_unknown_word_leaves_the_sentence_unsaid() -> None:
    assert pronounced("Water, fifty", WORDS, Random(1)) == [
        *WORDS["water"][0],
        ",",
        *WORDS["fifty"][0],
    ]
    assert pronounced("water fiftyish", WORDS, Random(1)) == []
    assert pronounced("", WORDS, Random(1)) == []


def test_other_words_and_sentences_without_variation_are_said_as_the_dictionary_has_them() -> None:
    for seed in range(20):
        assert pronounced("water eighteen", WORDS, Random(seed)) == [
            "W",
            "AO1",
            "T",
            "ER0",
            "EY0",
            "T",
            "IY1",
            "N",
        ]
        assert twin("water", WORDS["water"][0], Random(seed)) == WORDS["water"][0]
