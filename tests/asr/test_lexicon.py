"""Pronunciations: the file, the guess for what is not in it, and every way to write it wrong."""

import re
from collections.abc import Sequence
from pathlib import Path

import pytest

from assistant.asr.lexicon import GuessedPronunciations, Lexicon
from assistant.asr.network import PhonemeNetwork
from assistant.config.resources import grammar_folder
from assistant.errors import GrammarError
from assistant.nlu.grammar import load_grammar

SYMBOLS = ("<blank>", "m", "ʌ", "k", "s")


def lexicon(tmp_path: Path, text: str, guess: Sequence[str] = ()) -> Lexicon:
    path = tmp_path / "pronunciations.toml"
    path.write_text(text, encoding="utf-8")
    return Lexicon(path, SYMBOLS, lambda _word: guess)


def test_a_word_has_the_pronunciations_of_the_file(tmp_path: Path) -> None:
    words = lexicon(tmp_path, '[words]\nmix = ["m ʌ k s", "m k s"]\n')

    assert words("mix") == ((1, 2, 3, 4), (1, 3, 4))
    assert "mix" in words


def test_the_same_written_twice_counts_once(tmp_path: Path) -> None:
    assert lexicon(tmp_path, '[words]\nmix = ["m ʌ k s", "m  ʌ k s"]\n')("mix") == ((1, 2, 3, 4),)


def test_another_word_is_guessed_and_symbols_that_are_no_phones_fall_away(tmp_path: Path) -> None:
    words = lexicon(tmp_path, "", guess=["k", "?", "ʌ", "s"])

    assert "kiss" not in words
    assert words("kiss") == ((3, 2, 4),)


def test_a_word_that_nobody_can_say_is_told(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match=r'No pronunciation of "qqq" is known .* write one into .*toml\.'):
        lexicon(tmp_path, "")("qqq")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('[words]\nmix = "m"', '{path}: "mix" must have a list of pronunciations, like ["w ʌ n"].'),
        ("[words]\nmix = []", '{path}: "mix" must have a list of pronunciations, like ["w ʌ n"].'),
        ("[words]\nmix = [1]", '{path}: "mix" must have a list of pronunciations, like ["w ʌ n"].'),
        (
            '[words]\nmix = ["m I k s"]',
            '{path}: "mix" has the phone "I" that the network does not know; write phones with spaces between them, '
            "as in the other words.",
        ),
        ('[words]\nmix = [" "]', '{path}: "mix" has an empty pronunciation; write phones, like ["w ʌ n"].'),
        ("words = 3", '{path}: "words" must be a table, like [words].'),
    ],
)
def test_what_is_wrong_in_the_file_is_told_in_one_line(tmp_path: Path, text: str, line: str) -> None:
    path = tmp_path / "pronunciations.toml"

    with pytest.raises(GrammarError, match=f"^{re.escape(line.format(path=path))}$"):
        lexicon(tmp_path, text)


def test_broken_toml_and_a_missing_file_are_told(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match="are not valid TOML: Expected"):
        lexicon(tmp_path, "[words")
    with pytest.raises(GrammarError, match=r"can't be read \(No such file or directory\)"):
        Lexicon(tmp_path / "gone.toml", SYMBOLS)


def test_the_file_that_ships_is_in_the_networks_symbols_and_knows_the_grammar() -> None:
    folder = grammar_folder()

    words = Lexicon(folder / "pronunciations.toml", PhonemeNetwork().symbols)

    assert sorted(word for word in load_grammar(folder / "commands.jsgf").words if word not in words) == []


def test_every_word_that_can_be_said_was_in_the_fine_tuning() -> None:
    folder, network = grammar_folder(), PhonemeNetwork()
    assert network.words is not None

    known = Lexicon(network.words, network.symbols)

    assert [word for word in load_grammar(folder / "commands.jsgf").words if word not in known] == []
    assert PhonemeNetwork(weights="packaged").words is None


def test_fine_tuned_words_go_before_the_file_and_the_kitchens_own_before_both(tmp_path: Path) -> None:
    path, fine_tuned = tmp_path / "pronunciations.toml", tmp_path / "fine_tuned.toml"
    path.write_text('[words]\nmix = ["m"]\nrest = ["s"]\ncook = ["k"]\n[own]\ncook = ["m", "k"]\n')
    fine_tuned.write_text('[words]\nmix = ["k"]\ncook = ["s"]\n')

    words = Lexicon(path, SYMBOLS, fine_tuned=fine_tuned)

    assert [words(word) for word in ("mix", "rest", "cook")] == [
        ((SYMBOLS.index("k"),),),
        ((SYMBOLS.index("s"),),),
        ((SYMBOLS.index("m"),), (SYMBOLS.index("k"),)),
    ]


def test_the_librarys_guess_is_that_of_the_dictionary() -> None:
    """CMUdict 0.7b: CRUMB  K R AH1 M."""
    assert " ".join(GuessedPronunciations()("crumb")) == "k ɹ ʌ m"
