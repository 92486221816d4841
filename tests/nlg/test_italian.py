"""Numbers in Italian: the words against num2words, the trade's forms as a kitchen in Italy says them."""

import pytest
from num2words import num2words

from assistant.nlg.italian import ItalianNumbers

ITALIAN = ItalianNumbers()


def reference(number: int) -> str:
    """Words of num2words, without its two slips: 118 is "centodicotto" there, and 2023 "duemilaventitre"."""
    words: str = num2words(number, lang="it")
    return plain(words.replace("dicotto", "diciotto"))


def plain(words: str) -> str:
    """Without the accent, which is compared apart."""
    return words.replace("é", "e")


def test_every_number_up_to_ten_thousand_is_what_the_reference_says() -> None:
    counted = ((number, ITALIAN.count(number)) for number in range(10_001))
    assert [(number, words) for number, words in counted if plain(words) != reference(number)] == []


def test_tre_is_stressed_wherever_it_ends_a_longer_word() -> None:
    # The Italian norm: ventitré, centotré, duemilatré; "tre" alone has no accent.
    ending = [number for number in range(10_001) if number % 10 == 3 and number % 100 != 13]
    assert [n for n in ending if not ITALIAN.count(n).endswith("tré")] == [3]
    assert not [n for n in range(10_001) if "é" in ITALIAN.count(n)[:-1]]


def test_large_numbers_are_what_the_reference_says() -> None:
    for number in (12_500, 20_003, 21_000, 50_000, 99_999, 100_001, 1_000_000, 2_000_000):
        assert plain(ITALIAN.count(number)) == reference(number)


# Common practice of Italian kitchens, no source.
@pytest.mark.parametrize(
    ("grams", "words"),
    [
        (0, "zero"),
        (1, "uno"),
        (15, "quindici"),
        (50, "cinquanta"),
        (150, "centocinquanta"),
        (465, "quattrocentosessantacinque"),
        (500, "mezzo chilo"),
        (1000, "un chilo"),
        (1250, "milleduecentocinquanta"),
        (1500, "un chilo e mezzo"),
        (2000, "due chili"),
        (2500, "due chili e mezzo"),
        (3003, "tremilatré"),
        (12_500, "dodici chili e mezzo"),
        (149.6, "centocinquanta"),
        (499.6, "mezzo chilo"),
        (0.4, "zero"),
        (-0.4, "zero"),
        (-5, "meno cinque"),
        (-500, "meno mezzo chilo"),
    ],
)
def test_mass(grams: float, words: str) -> None:
    assert ITALIAN.mass(grams) == words


@pytest.mark.parametrize(
    ("number", "words"), [(0, "zero"), (500, "cinquecento"), (1000, "mille"), (-4, "meno quattro")]
)
def test_a_count_is_never_a_mass(number: float, words: str) -> None:
    assert ITALIAN.count(number) == words


@pytest.mark.parametrize(
    ("percent", "words"),
    [
        (31, "trentuno"),
        (33, "trentatré"),
        (31.5, "trentuno virgola cinque"),
        (30.97, "trentuno"),
        (0.25, "zero virgola due"),
        (-1.5, "meno uno virgola cinque"),
        (100, "cento"),
    ],
)
def test_percent(percent: float, words: str) -> None:
    assert ITALIAN.percent(percent) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "zero secondi"),
        (-3, "zero secondi"),
        (1, "un secondo"),
        (30, "trenta secondi"),
        (45, "quarantacinque secondi"),
        (60, "un minuto"),
        (61, "un minuto e un secondo"),
        (75, "un minuto e un quarto"),
        (90, "un minuto e mezzo"),
        (119.6, "due minuti"),
        (125, "due minuti e cinque secondi"),
        (135, "due minuti e un quarto"),
        (150, "due minuti e mezzo"),
        (900, "un quarto d'ora"),
        (1260, "ventuno minuti"),
        (1800, "mezz'ora"),
        (2700, "tre quarti d'ora"),
        (3600, "un'ora"),
        (3660, "un'ora e un minuto"),
        (4200, "un'ora e dieci"),
        (4500, "un'ora e un quarto"),
        (5400, "un'ora e mezza"),
        (7200, "due ore"),
        (8412, "due ore e venti"),
        (9000, "due ore e mezza"),
        (9900, "due ore e tre quarti"),
    ],
)
def test_duration(seconds: float, words: str) -> None:
    assert ITALIAN.duration(seconds) == words


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (15, "uno cinque"),
        (150, "uno cinque zero"),
        (31.5, "tre uno virgola cinque"),
        (-2, "meno due"),
        (0, "zero"),
    ],
)
def test_digits(number: float, words: str) -> None:
    assert ITALIAN.digits(number) == words


def test_every_mass_has_words_of_its_own() -> None:
    assert len({ITALIAN.mass(grams) for grams in range(20_000)}) == 20_000


def test_every_time_has_words_of_its_own() -> None:
    times = [*range(3600), *range(3600, 24 * 3600, 60)]
    assert len({ITALIAN.duration(seconds) for seconds in times}) == len(times)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("mix", "il tempo d'impasto"),
        ("rest", "il riposo"),
        (2, "il timer due"),
        ("sugo", "il timer sugo"),
    ],
)
def test_timers_are_called_by_what_they_are(name: str | int, words: str) -> None:
    assert ITALIAN.timer(name) == words


# Rounded as in English; "circa": common practice of Italian kitchens, no source.
@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (12, "circa dieci secondi"),
        (30, "trenta secondi"),
        (73, "circa un minuto e un quarto"),
        (94, "circa un minuto e mezzo"),
        (1790, "circa mezz'ora"),
        (3590, "circa un'ora"),
    ],
)
def test_what_is_left_is_rounded_and_says_so(seconds: float, words: str) -> None:
    assert ITALIAN.about(seconds) == words


@pytest.mark.parametrize(
    ("name", "words"), [("mix", "timer impasto"), (2, "timer due"), ("sugo", "timer sugo")]
)
def test_a_timer_at_the_head_of_a_reply(name: str | int, words: str) -> None:
    assert ITALIAN.label(name) == words
