"""Training targets: sentences as runs of the network's symbols, pronounced as in the recogniser's lexicon."""

from __future__ import annotations

import itertools
from pathlib import Path
from random import Random

from assistant.asr.lexicon import Lexicon
from assistant.config.language.pronunciations import read_pronunciations
from tests.bench.finetune.archive import BOUNDARY

Phones = tuple[int, ...]


def symbols() -> tuple[str, ...]:
    """The network's symbols in order."""
    from hama.vocab import Vocabulary

    return (*Vocabulary.load().decoder, "<wb>", "<blank>")


class Targets:
    """Candidate targets of sentences: every mixture of the words' pronunciations, at most `most` of them.

    `pronunciations`: the words as they are to be written; any other word is spelled by rule.
    """

    def __init__(self, pronunciations: Path, most: int = 6) -> None:
        self.most = most
        self.pronounce = Lexicon(read_pronunciations(pronunciations), symbols())
        self._rng = Random(5)

    def __call__(self, text: str) -> list[Phones]:
        """Targets of a sentence, the first with every word's first pronunciation."""
        spelled = [self.pronounce(word) for word in text.split()]
        n = 1
        for variants in spelled:
            n *= len(variants)
        if n <= self.most:
            mixtures = list(itertools.product(*spelled))
        else:
            mixtures = [tuple(v[0] for v in spelled)]
            mixtures += [tuple(self._rng.choice(v) for v in spelled) for _ in range(self.most - 1)]
        return list(dict.fromkeys(self._joined(mixture) for mixture in mixtures))

    @staticmethod
    def _joined(words: tuple[Phones, ...]) -> Phones:
        joined = [phone for word in words for phone in (*word, BOUNDARY)]
        return tuple(joined[:-1])
