"""What fits no sentence of the grammar: heard word by word, and what is said like it asked about."""

import re
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic

import numpy as np
from numpy.typing import NDArray

from assistant.asr.confidence import UNCONFIRMED
from assistant.asr.lexicon import Lexicon
from assistant.asr.otherwise.word_by_word import WordByWord
from assistant.asr.otherwise.word_pairs import WordPairs
from assistant.ports import Asking, Hypothesis, M, Recognition, Wanted

MOST_COST, MOST_STRANGENESS, LEAST_PHONES = 0.5, 5.5, 14
"""What the words have to fit like (log-probability lost a phone), how unlikely they may be behind each other
(nats a word), how long they have to be: `tests/bench/hearing/FINDINGS.md` has what was tried."""
HEARD_IN = frozenset({Asking.NOTHING, Asking.CRUMB})
"""While something else is asked for, an answer is waited for and no other command guessed."""
_WORD = re.compile("[a-z']*[a-z][a-z']*")


@dataclass(frozen=True, slots=True)
class Ways(Generic[M]):
    """Known ways to say things."""

    lines: Callable[[], Iterable[Sequence[str]]]
    """Each word by word."""
    numbers: Collection[str]
    """Words that numbers are made of."""
    meant: Callable[[str, Asking], tuple[str, M] | None]
    """Words, and what is asked -> the sentence of the grammar that says it, and what that means."""


class InOtherWords(Generic[M]):
    """Finds what is worth asking about. `lexicon`: spellings for the network with these two symbols."""

    def __init__(self, ways: Ways[M], lexicon: Lexicon, blank: int, boundary: int) -> None:
        self._meant = ways.meant
        lines = [line for line in ways.lines() if all(map(_WORD.fullmatch, line))]
        pairs = WordPairs(lines, [word for word in ways.numbers if _WORD.fullmatch(word)])
        lexicon.prepare(pairs.words)
        self._heard = WordByWord(pairs, lexicon, blank, boundary)

    def __call__(
        self, log_probs: NDArray[np.float32], asking: Asking, wanted: Wanted
    ) -> Recognition[M] | None:
        """What an utterance may have meant, to be asked about; None where that is too little.

        log_probs: shape (frames, symbols), as `asr.search.silence` leaves it.
        """
        if asking not in HEARD_IN or len(log_probs) < LEAST_PHONES:
            return None
        heard = self._heard.hear(log_probs, wanted)
        if (
            heard.cost > MOST_COST
            or heard.strangeness > MOST_STRANGENESS
            or heard.phones < LEAST_PHONES
            or (found := self._meant(" ".join(heard.words), asking)) is None
        ):
            return None
        sentence, meaning = found
        best = Hypothesis(sentence, meaning, heard.cost)
        return Recognition(
            best, accepted=False, margin=0.0, near=True, asking=asking, sure=UNCONFIRMED, guessed=True
        )
