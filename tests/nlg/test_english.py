"""Numbers in words: what a cook would say, and can say back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record.commands import AddWater, Mix, SetLot, SetTarget
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.nlg.english import EnglishNumbers
from assistant.nlg.rounded import rounded_s
from assistant.nlu import Grammar, load_grammar

ENGLISH = EnglishNumbers()


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(grammar_folder() / "commands.jsgf")


# Common practice of English-speaking kitchens, no source; the style is the design's.
@pytest.mark.parametrize(
    ("grams", "words"),
    [
        (0, "zero"),
        (7, "seven"),
        (15, "fifteen"),
        (50, "fifty"),
        (100, "one hundred"),
        (105, "one oh five"),
        (150, "one fifty"),
        (305, "three oh five"),
        (315, "three fifteen"),
        (430, "four thirty"),
        (1000, "one kilo"),
        (1005, "one thousand and five"),
        (1205, "twelve oh five"),
        (1250, "twelve fifty"),
        (1500, "fifteen hundred"),
        (1850, "eighteen fifty"),
        (1900, "nineteen hundred"),
        (2000, "two kilos"),
        (2050, "two thousand and fifty"),
        (2500, "twenty-five hundred"),
        (2620, "twenty-six twenty"),
        (3000, "three kilos"),
        (12_500, "twelve thousand five hundred"),
        (999.6, "one kilo"),
        (-2000, "minus two kilos"),
        (149.6, "one fifty"),
        (0.4, "zero"),
        (-0.4, "zero"),
        (-5, "minus five"),
    ],
)
def test_mass(grams: float, words: str) -> None:
    assert ENGLISH.mass(grams) == words


@pytest.mark.parametrize(
    ("number", "words"), [(4, "four"), (1000, "one thousand"), (2000, "two thousand"), (-5, "minus five")]
)
def test_a_count_is_never_in_kilos(number: float, words: str) -> None:
    assert ENGLISH.count(number) == words


@pytest.mark.parametrize(
    ("percent", "words"),
    [
        (31, "thirty-one"),
        (31.5, "thirty-one point five"),
        (30.97, "thirty-one"),
        (31.04, "thirty-one"),
        (0.25, "zero point two"),
        (-1.5, "minus one point five"),
        (100, "one hundred"),
    ],
)
def test_percent(percent: float, words: str) -> None:
    assert ENGLISH.percent(percent) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "zero seconds"),
        (-3, "zero seconds"),
        (1, "one second"),
        (30, "half a minute"),
        (45, "forty-five seconds"),
        (60, "one minute"),
        (75, "a minute and a quarter"),
        (80, "eighty seconds"),
        (90, "a minute and a half"),
        (100, "one minute forty"),
        (119.6, "two minutes"),
        (125, "two minutes and five seconds"),
        (135, "two minutes fifteen"),
        (150, "two and a half minutes"),
        (1800, "half an hour"),
        (3600, "one hour"),
        (3660, "an hour and one minute"),
        (4200, "an hour ten"),
        (5400, "an hour and a half"),
        (7200, "two hours"),
        (8412, "two hours twenty"),
        (9000, "two and a half hours"),
    ],
)
def test_duration(seconds: float, words: str) -> None:
    assert ENGLISH.duration(seconds) == words


# Rounded as a cook would: common practice of kitchens, no source.
@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (-3, "zero seconds"),
        (8, "eight seconds"),
        (12, "about ten seconds"),
        (28, "about half a minute"),
        (30, "half a minute"),
        (58, "about a minute"),
        (73, "about a minute and a quarter"),
        (94, "about a minute and a half"),
        (140, "about two and a half minutes"),
        (120, "two minutes"),
        (640, "about eleven minutes"),
        (3590, "about an hour"),
        (4790, "about an hour twenty"),
        (4800, "an hour twenty"),
    ],
)
def test_what_is_left_is_rounded_and_says_so(seconds: float, words: str) -> None:
    assert ENGLISH.about(seconds) == words


@given(st.floats(0, 24 * 3600))
def test_what_is_left_is_never_far_from_it(seconds: float) -> None:
    """At most a sixth off the nearest whole second."""
    whole = round(seconds)
    assert abs(rounded_s(seconds) - whole) <= whole / 6


@given(st.floats(0, 24 * 3600), st.floats(0, 24 * 3600))
def test_what_is_longer_is_never_said_as_shorter(one: float, other: float) -> None:
    assert rounded_s(min(one, other)) <= rounded_s(max(one, other))


@pytest.mark.parametrize(
    ("name", "words"), [("mix", "mix timer"), (2, "timer two"), ("sauce", "sauce timer")]
)
def test_a_timer_at_the_head_of_a_reply(name: str | int, words: str) -> None:
    assert ENGLISH.label(name) == words


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (15, "one five"),
        (150, "one five zero"),
        (31.5, "three one point five"),
        (-2, "minus two"),
        (0, "zero"),
    ],
)
def test_digits(number: float, words: str) -> None:
    assert ENGLISH.digits(number) == words


def heard_g(grammar: Grammar, words: str) -> float | None:
    command = grammar.parse(f"water {words}")
    return command.amount.grams(1.0) if isinstance(command, AddWater) else None


def test_every_mass_is_heard_as_it_was_said(grammar: Grammar) -> None:
    assert [grams for grams in range(5_001) if heard_g(grammar, ENGLISH.mass(grams)) != grams] == []


@given(st.integers(5_001, 9_999))
def test_a_large_mass_is_heard_as_it_was_said(grammar: Grammar, grams: int) -> None:
    assert heard_g(grammar, ENGLISH.mass(grams)) == grams


def test_every_mass_has_words_of_its_own() -> None:
    assert len({ENGLISH.mass(grams) for grams in range(20_000)}) == 20_000


@given(st.integers(10, 9_999))
def test_a_number_is_heard_digit_by_digit(grammar: Grammar, number: int) -> None:
    assert grammar.parse(f"water {ENGLISH.digits(number)}") == AddWater(Amount(float(number)))


def test_every_percent_is_heard_as_it_was_said(grammar: Grammar) -> None:
    wrong = [
        tenths
        for tenths in range(10, 1000)
        if grammar.parse(f"target {ENGLISH.percent(tenths / 10)}") != SetTarget(tenths / 10)
    ]
    assert wrong == []


def test_every_duration_is_heard_as_it_was_said(grammar: Grammar) -> None:
    heard = [*range(1, 3600), *range(3600, 4 * 3600, 60)]
    assert [s for s in heard if grammar.parse(f"mix {ENGLISH.duration(s)}") != Mix(float(s))] == []


@given(st.integers(0, 10**9))
def test_a_lot_keeps_its_digits(grammar: Grammar, lot: int) -> None:
    assert grammar.parse(f"lot {ENGLISH.digits(lot)}") == SetLot(str(lot))
