"""Pronunciations in the network's symbols, the guess for a word without one, and what can't be used."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from assistant.asr.letter_to_sound import Way
from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.network import PhonemeNetwork
from assistant.config.language.pronunciations import read_pronunciations
from assistant.config.resources import grammar_folder
from assistant.errors import GrammarError
from assistant.nlu.grammar import load_grammar

FILE = Path("kitchen/pronunciations.toml")
SYMBOLS = ("<blank>", "m", "ʌ", "k", "s")


def lexicon(*ways: str, guess: Way = ()) -> Lexicon:
    words = {"mix": list(ways)} if ways else {}
    return Lexicon(Pronunciations(FILE, words), SYMBOLS, lambda words: [[guess] for _ in words])


def test_a_word_has_the_pronunciations_that_were_read() -> None:
    words = lexicon("m ʌ k s", "m k s")

    assert words("mix") == ((1, 2, 3, 4), (1, 3, 4))
    assert "mix" in words


def test_the_same_written_twice_counts_once() -> None:
    assert lexicon("m ʌ k s", "m  ʌ k s")("mix") == ((1, 2, 3, 4),)


def test_another_word_is_guessed_and_symbols_that_are_no_phones_fall_away() -> None:
    words = lexicon(guess=("k", "?", "ʌ", "s"))

    assert "kiss" not in words
    assert words("kiss") == ((3, 2, 4),)


def test_a_word_that_can_not_be_pronounced_is_reported() -> None:
    with pytest.raises(GrammarError) as caught:
        lexicon()("qqq")
    assert str(caught.value) == (
        'No pronunciation of "qqq" is known and none can be guessed; write one into '
        "kitchen/pronunciations.toml."
    )


@pytest.mark.parametrize(
    ("way", "line"),
    [
        (
            "m I k s",
            '"mix" has the phone "I" that the network does not know; write phones with spaces between '
            "them, as in the other words.",
        ),
        (" ", '"mix" has an empty pronunciation; write phones, like ["w ʌ n"].'),
    ],
)
def test_what_the_network_can_not_write_is_refused_in_one_line(way: str, line: str) -> None:
    with pytest.raises(GrammarError) as caught:
        lexicon(way)
    assert str(caught.value) == f"kitchen/pronunciations.toml: {line}"


def test_a_refusal_names_the_file_that_the_word_is_from() -> None:
    fine_tuned = Pronunciations(Path("weights.toml"), {"mix": ["I"]})
    with pytest.raises(GrammarError, match=r'^weights\.toml: "mix" has the phone "I"'):
        Lexicon(Pronunciations(FILE, {"mix": ["m"]}, fine_tuned=fine_tuned), SYMBOLS)


def test_words_of_no_sentence_come_last_and_name_their_own_file() -> None:
    others = Pronunciations(Path("others.toml"), {"mix": ["s"], "sim": ["s"]})
    made = Lexicon(Pronunciations(FILE, {"mix": ["m"]}, others=others), SYMBOLS)
    assert (made("mix"), made("sim")) == (((SYMBOLS.index("m"),),), ((SYMBOLS.index("s"),),))
    wrong = Pronunciations(Path("others.toml"), {"sim": ["I"]})
    with pytest.raises(GrammarError, match=r'^others\.toml: "sim" has the phone "I"'):
        Lexicon(Pronunciations(FILE, {"mix": ["m"]}, others=wrong), SYMBOLS)


def test_the_file_that_ships_is_in_the_networks_symbols_and_knows_the_grammar() -> None:
    folder = grammar_folder()

    words = Lexicon(read_pronunciations(folder / "pronunciations.toml"), PhonemeNetwork().symbols)

    assert sorted(word for word in load_grammar(folder / "commands.jsgf").words if word not in words) == []


def test_no_word_that_can_be_said_is_guessed_with_the_shipped_weights() -> None:
    """A word that they were not fine-tuned on stands in the file of pronunciations."""
    folder, network = grammar_folder(), PhonemeNetwork()
    assert network.words is not None

    words = Lexicon(read_pronunciations(folder / "pronunciations.toml", network.words), network.symbols)

    assert [word for word in load_grammar(folder / "commands.jsgf").words if word not in words] == []
    assert PhonemeNetwork(weights="packaged").words is None


def test_words_of_the_fine_tuning_go_before_the_files_and_the_kitchens_own_before_both() -> None:
    kitchen = Pronunciations(
        FILE,
        words={"mix": ["m"], "rest": ["s"], "cook": ["k"]},
        own={"cook": ["m", "k"]},
        fine_tuned=Pronunciations(Path("weights.toml"), {"mix": ["k"], "cook": ["s"]}),
    )

    words = Lexicon(kitchen, SYMBOLS)

    assert [words(word) for word in ("mix", "rest", "cook")] == [
        ((SYMBOLS.index("k"),),),
        ((SYMBOLS.index("s"),),),
        ((SYMBOLS.index("m"),), (SYMBOLS.index("k"),)),
    ]


def test_every_guess_counts_and_a_word_with_s_is_the_word_and_that_sound() -> None:
    ways: dict[str, list[Way]] = {"kiss": [("k", "s"), ("m",), ("k", "?", "s")], "bag": [], "bag's": []}
    words = Lexicon(
        Pronunciations(FILE, {"bag": ["m ɪ"]}),  # noqa: RUF001
        ("m", "ɪ", "s", "z", "k"),  # noqa: RUF001
        lambda asked: [ways[word] for word in asked],
    )
    assert words("kiss") == ((4, 2), (0,))
    assert words("bag's") == ((0, 1, 3), (0, 1, 2)), "the word as it is known, with its s"
    assert "bag" in words
    assert "kiss" not in words, "it is only guessed"


def test_what_has_to_be_guessed_is_asked_for_at_once() -> None:
    asked: list[Sequence[str]] = []

    def rules(words: Sequence[str]) -> list[list[Way]]:
        asked.append(words)
        return [[("k",)] for _ in words]

    Lexicon(Pronunciations(FILE, {"mix": ["m"]}), SYMBOLS, rules).prepare(["sauce", "mix", "kiss"])
    assert asked == [["kiss", "sauce"]]
