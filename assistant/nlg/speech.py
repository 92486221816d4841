"""How values are said in a language: numbers, times, timers, and names that it has words of its own for.

`NumberWords` is what a language with words of its own implements: `english`, `italian`. A language without
them says figures (`figures`), which its voice reads.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from assistant.batch.record.announcements import Value
from assistant.nlg.english import EnglishNumbers
from assistant.nlg.figures import Figures
from assistant.nlg.italian import ItalianNumbers

_FIGURES = re.compile(r"[0-9]+|[^0-9\s]+")
"""Figures, and what is between them."""
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


class NumberWords(Protocol):
    """The words of one language for numbers, times and timers. No unit is said but those of time."""

    def mass(self, grams: float) -> str:
        """A mass, to whole grams."""
        ...

    def count(self, number: float) -> str:
        """A count, to whole ones."""
        ...

    def percent(self, percent: float) -> str:
        """A percentage, a temperature or a length, to one decimal."""
        ...

    def duration(self, seconds: float) -> str:
        """A time, to whole seconds; from an hour on to whole minutes."""
        ...

    def about(self, seconds: float) -> str:
        """A time that is left, or went by, as exactly as it is worth saying; it says where it was rounded."""
        ...

    def digits(self, number: float) -> str:
        """A number digit by digit."""
        ...

    def timer(self, name: str | int) -> str:
        """A timer by its number, its name, or "mix" and "rest", with the word that makes it one."""
        ...

    def label(self, name: str | int) -> str:
        """The same without an article, for the head of a short reply: "sauce timer"."""
        ...


@dataclass(frozen=True, slots=True)
class Speech:
    """One language: its number words and its names. All methods are formats that a wording may name."""

    numbers: NumberWords = field(default_factory=EnglishNumbers)
    """Its number words."""
    names: Mapping[str, str] = field(default_factory=dict)
    """What it says for an English name: "sauce" -> "sugo". Names that are not here are said as they are."""

    def mass(self, value: Value) -> str:
        """A mass (g) in words, without a unit."""
        return self.numbers.mass(float(value))

    def count(self, value: Value) -> str:
        """A count in words: 4 is "four"."""
        return self.numbers.count(float(value))

    def percent(self, value: Value) -> str:
        """A percentage in words, without the word percent."""
        return self.numbers.percent(float(value))

    def duration(self, value: Value) -> str:
        """A time (s) in words."""
        return self.numbers.duration(float(value))

    def about(self, value: Value) -> str:
        """A time (s) that is left, or went by, in words: "about a minute and a quarter"."""
        return self.numbers.about(float(value))

    def spelled(self, value: Value) -> str:
        """A whole number digit by digit, or a lot sign by sign: "B12" is "B, one two".

        The comma makes a voice name the letter, and say no word or unit.
        """
        if not isinstance(value, str):
            return self.numbers.digits(round(value))
        parts = _FIGURES.findall(value.upper())
        said = (self.numbers.digits(int(s)) if s.isdecimal() else s for part in parts for s in (*part, ","))
        return " ".join(said).replace(" ,", ",").removesuffix(",")

    def name(self, value: Value) -> str:
        """A name as this language has it; underlines are spoken as pauses between words."""
        plain = str(value).replace("_", " ")
        return self.names.get(plain, plain)

    def listed(self, value: Value) -> str:
        """Names as this language has them, with commas between."""
        return ", ".join(self.name(one) for one in str(value).split(","))

    def allergens(self, value: Value) -> str:
        """Words of `allergens.lists.ALLERGENS`, with commas between; "allergen egg" names one of them here.

        "allergen and" is said before the last instead of a comma, which takes longer than a short word.
        """
        *words, last = (self.names.get(f"allergen {word}", word) for word in str(value).split(","))
        if not words:
            return last
        joined = f" {self.names['allergen and']} " if "allergen and" in self.names else ", "
        return ", ".join(words) + joined + last

    def timer(self, value: Value) -> str:
        """A timer with the word that makes it one: "the mix", "timer two", "the sauce timer"."""
        return self.numbers.timer(self._timer_name(value))

    def label(self, value: Value) -> str:
        """A timer without an article: "mix timer", "timer two", "sauce timer"."""
        return self.numbers.label(self._timer_name(value))

    def _timer_name(self, value: Value) -> str | int:
        name = self.name(value)
        if name.isdecimal():
            return int(name)
        return _DIGITS.index(name) if name in _DIGITS else name


_NUMBERS: Mapping[str, NumberWords] = {"en": EnglishNumbers(), "it": ItalianNumbers()}
"""Languages with number words of their own."""


def number_words(language: str) -> NumberWords:
    """Number words of a language; figures where it has none here."""
    return _NUMBERS.get(language, Figures())
