# ruff: noqa: RUF001, RUF003 - the letters of the IPA
"""How words may sound that no file has: two systems of rules, against dictionaries."""

from collections.abc import Sequence

import pytest

from assistant.asr.letter_to_sound import (
    VOICES,
    EspeakRules,
    Guesses,
    LibraryRules,
    Way,
    phones_of,
    run_espeak,
)


def test_the_librarys_guess_is_that_of_the_dictionary() -> None:
    """CMUdict 0.7b: CRUMB  K R AH1 M."""
    assert " ".join(LibraryRules().guess("crumb")) == "k ɹ ʌ m"


def test_the_librarys_guess_counts_beside_its_english_phones_and_the_word_without_accents() -> None:
    class Fixed(LibraryRules):
        def guess(self, word: str) -> Way:
            return {"crème": ("χ", "m"), "creme": ("k", "m")}[word]

    [ways] = Fixed()(["crème"])
    assert list(dict.fromkeys(ways)) == [("ɹ", "m"), ("χ", "m"), ("k", "m")]


@pytest.mark.parametrize(
    ("ipa", "phones"),
    [
        # As espeak-ng 1.51 writes them, "--ipa=1": meringue, focaccia in Italian, jalapeno, cheese.
        ("m_ɚ_ɹ_ˈæ_ŋ", "m ɝ ɹ æ ŋ"),
        ("f_o_k_ˈa_ttʃ_a", "f o k a t t͡ʃ a"),
        ("h_ˌɑː_l_ə_p_ˈeɪ_nʲ_oʊ", "h ɑ l ə p eɪ n oʊ"),
        ("tʃ_ˈiː_z", "t͡ʃ i z"),
        ("k_ˈʌ_s_t_əl_d", "k ʌ s t ə l d"),
        ("", ""),
    ],
)
def test_marks_fall_away_and_the_rest_is_in_phones_of_english(ipa: str, phones: str) -> None:
    assert phones_of(ipa) == tuple(phones.split())


@pytest.mark.parametrize(
    ("word", "voice", "phones"),
    [
        # CMUdict 0.7b: CUSTARD  K AH1 S T ER0 D; NOODLE  N UW1 D AH0 L; SALMON  S AE1 M AH0 N.
        ("custard", "en-us", "k ʌ s t ɝ d"),
        ("noodle", "en-us", "n u d ə l"),
        ("salmon", "en-us", "s æ m ə n"),
        # Italian has /raˈɡu/ and /foˈkattʃa/ (from memory); espeak-ng ends the first in a short vowel.
        ("ragu", "it", "ɹ a g ʊ"),
        ("focaccia", "it", "f o k a t͡ʃ a"),
    ],
)
def test_espeaks_rules_say_words_as_dictionaries_do(word: str, voice: str, phones: str) -> None:
    [[way]] = EspeakRules(run_espeak, [voice])([word])
    assert " ".join(way) == phones


def test_each_voice_is_asked_for_all_words_at_once() -> None:
    asked: list[tuple[str, str]] = []

    def transcribe(text: str, voice: str) -> str:
        asked.append((text, voice))
        return "m_ˈɪ_k_s\nɹ_ˈɛ_s_t\n"

    ways = EspeakRules(transcribe, ["one", "other"])(["mix", "rest"])
    assert ways == [[("m", "ɪ", "k", "s")] * 2, [("ɹ", "ɛ", "s", "t")] * 2]
    assert asked == [("mix.\nrest.\n", "one"), ("mix.\nrest.\n", "other")]


@pytest.mark.parametrize("answer", ["", "m_ˈɪ_k_s\n", "m\nɪ\nk\n"])
def test_what_is_not_a_line_a_word_is_not_believed(answer: str) -> None:
    assert EspeakRules(lambda *_: answer)(["mix", "rest"]) == [[], []]


def test_without_the_program_the_library_is_alone() -> None:
    assert run_espeak("mix.\n", "no such voice") == ""
    words = ["ragu", "custard"]
    alone, both = Guesses(LibraryRules()), Guesses(LibraryRules(), EspeakRules(lambda *_: ""))
    assert alone(words) == both(words)


def test_all_that_ships_says_a_word_in_several_ways_and_is_asked_once() -> None:
    asked: list[Sequence[str]] = []

    def counted(words: Sequence[str]) -> list[list[Way]]:
        asked.append(words)
        return [[("m",)] for _ in words]

    rules = Guesses(LibraryRules(), EspeakRules(run_espeak, VOICES), counted)
    first = rules(["ragu", "ragu"])
    assert first == rules(["ragu", "ragu"])
    assert len(first[0]) == len(set(first[0])) > 2
    assert asked == [["ragu"]]
