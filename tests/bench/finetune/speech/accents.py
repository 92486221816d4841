"""English sentences in the sounds of another language's voice, from `accents.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

_VOWELS = frozenset("aeiouEIOUYy269@")
_FIRST, _SECOND = "\N{MODIFIER LETTER VERTICAL LINE}", "\N{MODIFIER LETTER LOW VERTICAL LINE}"  # stress
_STRESS_LAST = frozenset({"fr"})


@cache
def table(accent: str) -> dict[str, str]:
    """IPA of English to the X-SAMPA of one voice: it, fr, es or de."""
    rows = _tables()
    return {**rows["same"], **rows[accent]}


@cache
def british() -> dict[str, str]:
    """IPA of British English to the names that festival's British voices have for their sounds (mrpa)."""
    return _tables()["mrpa"]


@cache
def _tables() -> dict[str, dict[str, str]]:
    rows: dict[str, dict[str, str]] = tomllib.loads(
        Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
    )
    return rows


def split(ipa: str, rows: Mapping[str, str]) -> tuple[list[str], int]:
    """Sounds of a word of espeak-ng's IPA by a table, the longest that fits first.

    Also returns which of them the main stress is before (-1: none).
    """
    longest = max(map(len, rows))
    sounds: list[str] = []
    stress, at = -1, 0
    while at < len(ipa):
        if ipa[at] in (_FIRST, _SECOND):
            stress = len(sounds) if ipa[at] == _FIRST else stress
            at += 1
            continue
        size = next((n for n in range(longest, 0, -1) if ipa[at : at + n] in rows), 0)
        if not size:
            raise ValueError(f"{ipa!r}: no sound for {ipa[at]!r}; add it to accents.toml")
        sounds.append(rows[ipa[at : at + size]])
        at += size
    return sounds, stress


def word(ipa: str, accent: str) -> str:
    """X-SAMPA of one word of espeak-ng's IPA; the stress is before the consonant that opens its syllable."""
    sounds, stress = split(ipa, table(accent))
    vowels = [number for number, sound in enumerate(sounds) if sound[:1] in _VOWELS]
    if accent in _STRESS_LAST and vowels:
        stress = vowels[-1]
    if vowels and stress == vowels[0]:
        stress = 0
    elif stress > 0 and stress - 1 not in vowels:
        stress -= 1
    return "".join('"' * (number == stress) + sound for number, sound in enumerate(sounds))


def marked(ipa: str, accent: str) -> str:
    """A sentence of espeak-ng's IPA as the markup that Pico takes for phonemes."""
    words = [word(part, accent) for part in ipa.split()]
    return " ".join(f"<phoneme alphabet=\"xsampa\" ph='{part}'/>" for part in words if part)
