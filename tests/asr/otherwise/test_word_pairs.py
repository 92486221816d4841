"""Pairs of words: probabilities, and numbers as one class."""

import numpy as np
import pytest

from assistant.asr.otherwise.word_pairs import DISCOUNT, NEVER_SEEN, WordPairs

LINES = ("water one fifty", "water two", "rest ten", "rest", "one more")
NUMBERS = ("one", "two", "ten", "fifty", "sixty")


def pairs(*lines: str) -> WordPairs:
    return WordPairs([line.split() for line in lines or LINES], NUMBERS)


def place(made: WordPairs, word: str) -> int:
    return made.words.index(word)


def test_what_may_follow_a_word_sums_to_one() -> None:
    made = pairs()
    behind = np.exp(made.after).sum(axis=1) + np.exp(made.last)
    assert behind == pytest.approx(np.ones(len(made.words)), abs=1e-5)
    # A line has one word at least: what is missing is the end at the beginning.
    assert 0.8 < np.exp(made.first).sum() < 1


def test_a_number_stands_for_every_other() -> None:
    made = pairs()
    rest, more = place(made, "rest"), place(made, "more")
    numbers = [place(made, number) for number in NUMBERS]
    assert np.exp(made.after[rest, numbers]).sum() > np.exp(made.after[rest, place(made, "water")])
    for number in NUMBERS:
        assert made.after[place(made, number), more] == made.after[place(made, "one"), more]
    assert made.after[rest, place(made, "one")] > made.after[rest, place(made, "sixty")], "said more often"


def test_the_formula_of_absolute_discounting_by_hand() -> None:
    """Two lines, "rest now" and "rest": behind "rest" stands "now" once and the end once."""
    made = WordPairs([["rest", "now"], ["rest"]], ())
    heads = {"now": 1 + NEVER_SEEN, "rest": 1 + NEVER_SEEN, "</s>": 2 + NEVER_SEEN}
    anywhere = heads["now"] / sum(heads.values())
    expected = (1 - DISCOUNT + DISCOUNT * 2 * anywhere) / 2
    assert np.exp(made.after[place(made, "rest"), place(made, "now")]) == pytest.approx(expected)


def test_a_line_scores_what_its_pairs_do() -> None:
    made = pairs()
    line = [place(made, word) for word in ("water", "two")]
    by_hand = made.first[line[0]] + made.after[line[0], line[1]] + made.last[line[1]]
    assert made.score(line) == pytest.approx(by_hand)
    assert made.score([line[1]]) == pytest.approx(made.first[line[1]] + made.last[line[1]])
