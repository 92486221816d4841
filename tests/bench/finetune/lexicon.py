"""Training targets: sentences as runs of the network's symbols, pronounced as in the recogniser's lexicon."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from assistant.asr.lexicon import Lexicon
from assistant.config.language.pronunciations import read_pronunciations
from assistant.errors import GrammarError
from tests.bench.finetune.archive import BOUNDARY

Phones = tuple[int, ...]
KITCHEN = Path(__file__).parents[3] / "assistant" / "asr" / "weights" / "kitchen.toml"
"""The words that the network of the kitchen is taught with."""


def symbols() -> tuple[str, ...]:
    """The network's symbols in order."""
    from hama.vocab import Vocabulary

    return (*Vocabulary.load().decoder, "<wb>", "<blank>")


def joined(words: Sequence[Phones]) -> Phones:
    """Words as one target, a boundary between any two."""
    phones = [phone for word in words for phone in (*word, BOUNDARY)]
    return tuple(phones[:-1])


class Targets:
    """How the words of a sentence may be spelled.

    `pronunciations`: the words as they are to be written; any other word as in `spellings` (of
    `spelling_table`), or else by rule.
    """

    def __init__(self, pronunciations: Path = KITCHEN, spellings: Path | None = None) -> None:
        self._symbols = symbols()
        self._known: dict[str, tuple[Phones, ...]] = {"": ((),)}
        table: Mapping[str, Sequence[str]] = json.loads(spellings.read_text("utf-8")) if spellings else {}
        number = {symbol: place for place, symbol in enumerate(self._symbols)}
        self._table = {
            word: tuple(tuple(number[phone] for phone in way.split() if phone in number) for way in ways)
            for word, ways in table.items()
        }
        self._lexicon = Lexicon(read_pronunciations(pronunciations), self._symbols)

    def pronounce(self, word: str) -> tuple[Phones, ...]:
        """Spellings of a word, at least one; of no word an empty one."""
        if word not in self._known:
            ways = () if word in self._lexicon else self._table.get(word, ())
            self._known[word] = tuple(dict.fromkeys(way for way in ways if way)) or self._lexicon(word)
        return self._known[word]

    def __call__(self, text: str) -> tuple[tuple[Phones, ...], ...]:
        """Spellings of each word of a sentence."""
        return tuple(self.pronounce(word) for word in text.split())

    def can_spell(self, text: str) -> bool:
        """Whether every word of a sentence has a spelling."""
        try:
            self(text)
        except GrammarError:
            return False
        return True

    def first(self, text: str) -> Phones:
        """A sentence with the first spelling of every word."""
        return joined([ways[0] for ways in self(text)])
