"""The phones of English in the network's symbols: how alike two of them sound, and other languages' in them.

Vowels by height and backness, consonants by place, manner and voice, after the IPA chart (International
Phonetic Association, 2020). How much each feature counts is chosen; what the sums mean was measured
(`assistant/app/words/nearness.py`).
"""

# ruff: noqa: RUF001 - the letters of the IPA

import unicodedata
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import hypot, inf

_VOWELS: dict[str, tuple[float, float]] = {
    "i": (1.0, 0.0),
    "ɪ": (0.85, 0.15),
    "e": (0.7, 0.0),
    "eɪ": (0.75, 0.05),
    "ɛ": (0.5, 0.1),
    "æ": (0.2, 0.1),
    "a": (0.0, 0.3),
    "aɪ": (0.1, 0.3),
    "aʊ": (0.1, 0.5),
    "ɑ": (0.0, 0.8),
    "ɔ": (0.35, 0.9),
    "ɔɪ": (0.4, 0.7),
    "o": (0.65, 1.0),
    "oʊ": (0.65, 0.9),
    "ʊ": (0.85, 0.8),
    "u": (1.0, 1.0),
    "ʌ": (0.4, 0.6),
    "ə": (0.5, 0.5),
    "ɝ": (0.5, 0.5),
}
"""Height from open (0) to close (1), backness from front (0) to back (1)."""

_CONSONANTS: dict[str, tuple[float, str, bool]] = {
    "p": (0, "stop", False),
    "b": (0, "stop", True),
    "t": (3, "stop", False),
    "tʰ": (3, "stop", False),
    "d": (3, "stop", True),
    "ɾ": (3, "stop", True),
    "k": (6, "stop", False),
    "g": (6, "stop", True),
    "ɡ": (6, "stop", True),
    "m": (0, "nasal", True),
    "n": (3, "nasal", True),
    "ŋ": (6, "nasal", True),
    "f": (1, "fricative", False),
    "v": (1, "fricative", True),
    "θ": (2, "fricative", False),
    "ð": (2, "fricative", True),
    "s": (3, "fricative", False),
    "z": (3, "fricative", True),
    "ʃ": (4, "fricative", False),
    "ʒ": (4, "fricative", True),
    "h": (7, "fricative", False),
    "t͡ʃ": (4, "affricate", False),
    "d͡ʒ": (4, "affricate", True),
    "w": (0, "glide", True),
    "j": (5, "glide", True),
    "l": (3, "liquid", True),
    "ɹ": (3, "liquid", True),
}
"""Place from the lips (0) to the throat (7), manner, and whether it is voiced."""

_COLOURED = {"ɝ", "ɹ"}
"""A vowel and a consonant that are all but the same sound."""
PHONES = frozenset(_VOWELS | _CONSONANTS)
"""Phones that a pronunciation of a kitchen's own word may be written in."""
OMITTED = 0.7
"""What a phone too many or too few counts; half of it for those that are swallowed."""
_SWALLOWED = frozenset("hətdɾ")

FOREIGN = {
    "r": "ɹ",
    "ʁ": "ɹ",
    "χ": "ɹ",
    "ʀ": "ɹ",
    "ɻ": "ɹ",
    "ɽ": "ɹ",
    "ɚ": "ɝ",
    "ɜ": "ɝ",
    "ɐ": "ə",
    "ɘ": "ə",
    "ɒ": "ɑ",
    "ä": "ɑ",
    "ã": "ɑ",
    "õ": "ɔ",
    "ø": "ɝ",
    "œ": "ɝ",
    "y": "u",
    "ʉ": "u",
    "ɯ": "u",
    "ɨ": "ɪ",
    "ʋ": "v",
    "β": "v",
    "ɸ": "f",
    "ɫ": "l",
    "ɕ": "ʃ",
    "ʂ": "ʃ",
    "ʐ": "ʒ",
    "ʑ": "ʒ",
    "x": "h",
    "ħ": "h",
    "ɦ": "h",
    "ɣ": "g",
    "c": "k",
    "ɟ": "d͡ʒ",
    "ʈ": "t",
    "ɖ": "d",
    "eə": "ɛ",
    "ɪə": "ɪ",
}
"""Phones of other languages and accents, and the English one that is nearest."""
_FOREIGN_PAIRS = {"ɲ": ("n", "j"), "ʎ": ("l", "j")}


def english(phones: Iterable[str]) -> tuple[str, ...]:
    """Phones in those of English: the nearest for another language's, one for two equal ones in a row."""
    found: list[str] = []
    for phone in phones:
        for one in _FOREIGN_PAIRS.get(phone, (FOREIGN.get(phone, phone),)):
            if one in PHONES and found[-1:] != [one]:
                found.append(one)
    return tuple(found)


def without_accents(text: str) -> str:
    """A text without the accents of its letters."""
    return "".join(sign for sign in unicodedata.normalize("NFD", text) if not unicodedata.combining(sign))


def unlike(one: str, other: str) -> float:
    """How unlike two phones sound: 0 the same, 1 as unlike as any."""
    if one == other:
        return 0.0
    if {one, other} == _COLOURED:
        return 0.3
    if one in _VOWELS and other in _VOWELS:
        (height, back), (other_height, other_back) = _VOWELS[one], _VOWELS[other]
        return min(1.0, 0.1 + 0.8 * hypot(height - other_height, (back - other_back) * 0.8))
    if one in _CONSONANTS and other in _CONSONANTS:
        (place, manner, voiced), (other_place, other_manner, other_voiced) = (
            _CONSONANTS[one],
            _CONSONANTS[other],
        )
        apart = 0.07 * abs(place - other_place) + 0.15 * (voiced != other_voiced)
        return min(1.0, 0.1 + apart + 0.4 * (manner != other_manner))
    return 1.0


def shared_out(heard: Sequence[str], expected: Sequence[Sequence[str]]) -> list[tuple[str, ...]]:
    """What was heard, shared out among the expected words so that all together fit best."""
    best: list[tuple[float, tuple[int, ...]]] = [
        (0.0, ()) if end == 0 else (inf, ()) for end in range(len(heard) + 1)
    ]
    for word in expected:
        best = [
            min(
                (score + distance(heard[begin:end], word), (*ends, end))
                for begin, (score, ends) in enumerate(best[: end + 1])
            )
            for end in range(len(heard) + 1)
        ]
    ends = best[-1][1]
    return [tuple(heard[begin:end]) for begin, end in pairwise((0, *ends))]


def omitted(phone: str) -> float:
    """What it counts that a phone is there in one of two sentences and not in the other."""
    return OMITTED / 2 if phone in _SWALLOWED else OMITTED


def distance(one: Sequence[str], other: Sequence[str]) -> float:
    """How far two runs of phones are apart: the least sum of what is exchanged, too many or too few."""
    row = [0.0]
    for phone in other:
        row.append(row[-1] + omitted(phone))
    for phone in one:
        above, row = row, [row[0] + omitted(phone)]
        for column, rival in enumerate(other):
            row.append(
                min(
                    above[column] + unlike(phone, rival),
                    above[column + 1] + omitted(phone),
                    row[column] + omitted(rival),
                )
            )
    return row[-1]
