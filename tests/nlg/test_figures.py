"""A language without number words of its own says figures, and its voice reads them."""

import pytest

from assistant.nlg.figures import Figures
from assistant.nlg.speech import Speech, number_words

FIGURES = Figures()


def test_a_language_without_words_gets_figures() -> None:
    assert number_words("de").mass(465) == "465"
    assert number_words("en").mass(465) == "four sixty-five"
    assert number_words("it").mass(465) == "quattrocentosessantacinque"


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (FIGURES.mass(149.6), "150"),
        (FIGURES.count(4.0), "4"),
        (FIGURES.percent(31.04), "31"),
        (FIGURES.percent(31.5), "31.5"),
        (FIGURES.percent(-0.04), "0"),
        (FIGURES.digits(150), "1 5 0"),
        (FIGURES.digits(31.5), "3 1 . 5"),
        (FIGURES.duration(0), "0 s"),
        (FIGURES.duration(-3), "0 s"),
        (FIGURES.duration(60), "1 min"),
        (FIGURES.duration(135), "2 min 15 s"),
        (FIGURES.duration(3629), "1 h"),
        (FIGURES.duration(8412), "2 h 20 min"),
        (FIGURES.about(73), "1 min 15 s"),
        (FIGURES.about(3590), "1 h"),
        (FIGURES.timer("sauce"), "sauce"),
        (FIGURES.label("sauce"), "sauce"),
        (FIGURES.timer(2), "2"),
    ],
)
def test_figures(said: str, words: str) -> None:
    assert said == words


def test_a_lot_is_spelled_in_figures() -> None:
    assert Speech(FIGURES).spelled("4471a") == "4 4 7 1, A"
