"""Typed text -> labels of the grammar's automaton: case, punctuation and digits normalised."""

import re
import unicodedata
from dataclasses import dataclass

from assistant.nlu.construction import NUMBER

_PARTS = re.compile(
    r"""
      (?P<stray> (?<=[0-9]):(?=[0-9]) | (?<!\S)[-\u2212](?=[0-9.]) )   # 1:30, -5: not how numbers are said
    | (?P<number> [0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)? | [0-9]+(?:[.,][0-9]+)? | \.[0-9]+ )
    | (?P<mark> (?:\A | (?<=\blot\s)) [^\W\d_]{2} (?=[0-9]) )            # AB12: a lot, letter by letter
    | (?P<word> [^\W\d_]+(?:['\u2019][^\W\d_]+)* )
    | (?P<gap> [\s.,!?;:"'()\u2018-\u201f\u2026\u2010-\u2015-] )
    | (?P<sign> . )
    """,
    re.VERBOSE | re.DOTALL | re.IGNORECASE,
)
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Token:
    """A part of a typed text."""

    label: str
    """As the automaton knows it."""
    text: str
    """What was written; a number as plain digits with a decimal point."""


def tokens(text: str) -> list[Token]:
    """Words, numbers and signs of a sentence; `150g` is two, punctuation is none."""
    found: list[Token] = []
    for part in _PARTS.finditer(unicodedata.normalize("NFC", text)):
        written = part.group().casefold().replace("\u2019", "'")
        match part.lastgroup:
            case "number":
                plain = written.replace(",", "" if _THOUSANDS.fullmatch(written) else ".")
                found.append(Token(plain if len(plain) == 1 else NUMBER, plain))
            case "mark":
                found += (Token(letter, letter) for letter in written)
            case "word":
                found.append(Token(written, written))
            case "stray" | "sign":
                found.append(Token("" if written == NUMBER else written, written))
    return found
