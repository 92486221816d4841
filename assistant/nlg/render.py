"""How one value is spoken, and how words and values become a sentence. Pure."""

import re
from collections.abc import Callable, Mapping

from assistant.batch.record.announcements import Value
from assistant.nlg.numbers import digit_words, duration_words, mass_words, percent_words
from assistant.nlg.templates import Piece

TEXT_VALUES = frozenset(
    {
        "lot",
        "timer",
        "die",
        "said",
        "command",
        "worker",
        "recipe",
        "ingredient",
        "walk",
        "step",
        "caution",
        "start",
    }
)
"""Values that are names; all others are numbers."""


def count_words(value: Value) -> str:
    """A count in words: 4 is "four"."""
    return mass_words(float(value))


def name_words(value: Value) -> str:
    """A name as it was said, with its underlines spoken as pauses between words."""
    return str(value).replace("_", " ")


def spelled(value: Value) -> str:
    """A whole number digit by digit, or a lot sign by sign: "4471a" is "four four seven one A"."""
    if not isinstance(value, str):
        return digit_words(round(value))
    signs = (digit_words(int(sign)) if sign.isdecimal() else sign.upper() for sign in value if sign != " ")
    return " ".join(signs)


def timer_words(value: Value) -> str:
    """A timer with the word that makes it one: "the mix", "timer two", "the sauce timer"."""
    name = name_words(value)
    if name in ("mix", "rest"):
        return f"the {name}"
    if name.isdecimal():
        return f"timer {count_words(int(name))}"
    return f"timer {name}" if name in _DIGITS else f"the {name} timer"


_DIGITS = frozenset({"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"})

TEXT_FORMATS: Mapping[str, Callable[[Value], str]] = {
    "name": name_words,
    "digits": spelled,
    "timer": timer_words,
}
NUMBER_FORMATS: Mapping[str, Callable[[Value], str]] = {
    "mass": lambda value: mass_words(float(value)),
    "digits": spelled,
    "percent": lambda value: percent_words(float(value)),
    "duration": lambda value: duration_words(float(value)),
    "count": count_words,
}


def formats_of(value_name: str) -> Mapping[str, Callable[[Value], str]]:
    """Formats that speak the value of this name."""
    return TEXT_FORMATS if value_name in TEXT_VALUES else NUMBER_FORMATS


def sentence(pieces: tuple[Piece, ...], values: Mapping[str, Value]) -> str:
    """Put the values in, and begin each sentence with a capital."""
    spoken = (
        piece if isinstance(piece, str) else formats_of(piece[0])[piece[1]](values[piece[0]])
        for piece in pieces
    )
    return _BEGINNING.sub(lambda found: found.group().upper(), "".join(spoken))


_BEGINNING = re.compile(r"(?:^|[.?]\s+)[a-z]")
