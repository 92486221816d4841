# ruff: noqa: RUF001 - IPA
"""Spellings of words that the kitchen has not, made once by `python -m ...wide.spelling_table`.

A word gets the spelling of the library's rules, as the recogniser would have it, and those of the CMU
Pronouncing Dictionary in the network's symbols. Which of them a voice says is for the teacher to hear
(`train`). The file is JSON: word -> spellings, phones with spaces between.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from assistant.asr.letter_to_sound import LibraryRules
from assistant.asr.phones import english, without_accents

_PHONES = {
    "AA": "ɑ", "AE": "æ", "AH": "ʌ", "AO": "ɔ", "AW": "aʊ", "AY": "aɪ", "B": "b", "CH": "t͡ʃ",
    "D": "d", "DH": "ð", "EH": "ɛ", "ER": "ɝ", "EY": "eɪ", "F": "f", "G": "g", "HH": "h",
    "IH": "ɪ", "IY": "i", "JH": "d͡ʒ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ",
    "OW": "oʊ", "OY": "ɔɪ", "P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t", "TH": "θ",
    "UH": "ʊ", "UW": "u", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip
"""ARPAbet to the network's symbols."""


def symbols_of(arpabet: Sequence[str]) -> str:
    """Phones of ARPAbet in the network's symbols; an unstressed AH is the weak vowel."""
    return " ".join("ə" if phone == "AH0" else _PHONES[phone.rstrip("012")] for phone in arpabet)


def dictionary(path: Path) -> dict[str, list[str]]:
    """The CMU Pronouncing Dictionary's table: word -> spellings in the network's symbols."""
    words: dict[str, list[str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        entry, *phones = line.partition(" #")[0].split()
        words.setdefault(entry.partition("(")[0], []).append(symbols_of(phones))
    return words


def by_rule(word: str) -> str:
    """The library's spelling of a word, its phones replaced by English ones; empty where it has none."""
    base = word.removesuffix("'s")
    if base not in ("", word):  # the library guesses a syllable more
        return f"{by_rule(base)} z"
    return " ".join(english(_RULES.guess(without_accents(word))))


_RULES = LibraryRules()


def table(words: Iterable[str], known: Mapping[str, Sequence[str]], jobs: int) -> dict[str, list[str]]:
    """Spellings of each word, the rule's first."""
    asked = sorted(set(words))
    with ProcessPoolExecutor(jobs) as pool:
        rules = list(pool.map(by_rule, asked, chunksize=64))
    return {
        word: list(dict.fromkeys(way for way in (rule, *known.get(word, ())[:2]) if way))
        for word, rule in zip(asked, rules, strict=True)
    }


def main() -> None:
    """Write the table of the words of text files."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("texts", type=Path, nargs="+", help="files of plain words")
    parse.add_argument("--words", type=Path, required=True, help="cmudict.dict")
    parse.add_argument("--jobs", type=int, default=2)
    parse.add_argument("--out", type=Path, required=True)
    options = parse.parse_args()
    words = {word for path in options.texts for word in path.read_text(encoding="utf-8").split()}
    words = {word for word in words if word.strip("'-")}
    made = table(words, dictionary(options.words), options.jobs)
    options.out.write_text(json.dumps(made, ensure_ascii=False, sort_keys=True), encoding="utf-8")
    print(f"{len(made)} words, {sum(len(ways) > 1 for ways in made.values())} with several spellings")


if __name__ == "__main__":
    main()
