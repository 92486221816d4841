"""What of a grammar sounds like a sentence: the search that hears, on phones instead of sound.

Each phone of the sentence becomes what a network would write that hears it perfectly, with every other phone
as much less likely as it is unlike it. The search then finds the sentences of the grammar that are nearest,
by the weighted edit distance of `assistant.asr.phones`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Generic

import numpy as np
from numpy.typing import NDArray

from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.asr.phones import PHONES, distance, omitted, unlike
from assistant.ports import Asking, M, Sound

NEVER = -1e4
"""Log-probability of what is not to be taken."""
GAPS = 2
"""Phones that may be too many between two of the sentence."""
MOST_WAYS = 16
"""Ways of saying a sentence that are compared, at most."""


@dataclass(frozen=True, slots=True)
class Near(Generic[M]):
    """A sentence that sounds like another."""

    text: str
    meaning: M | None
    phones: float
    """How far it is: what is exchanged, too many or too few, in phones."""


def nearest(
    recogniser: PhonemeRecogniser[M], sentence: str, *, asking: Asking = Asking.NOTHING
) -> list[Near[M]]:
    """The sentences of the recogniser's grammar that sound most like one, nearest first, a few meanings.

    Raises GrammarError where a word of it can't be pronounced.
    """
    network, lexicon = recogniser.network, recogniser.lexicon
    said = ways_of(lexicon, network.symbols, sentence)
    heard = recogniser.decode([as_heard(said[0], network.symbols, network.blank)], asking=asking)
    found = [
        Near(one.text, one.meaning, apart(said, ways_of(lexicon, network.symbols, one.text)))
        for one in (heard.best, *heard.alternatives)
        if one.text
    ]
    return sorted(found, key=lambda near: near.phones)


def apart(ways: Sequence[Sequence[str]], others: Sequence[Sequence[str]]) -> float:
    """How far two sentences are apart in the ways of saying them that are nearest."""
    return min(distance(one, other) for one in ways for other in others)


def ways_of(lexicon: Lexicon, symbols: Sequence[str], sentence: str) -> list[tuple[str, ...]]:
    """Ways of saying a sentence in phones, the commonest first. Raises GrammarError."""
    words = [lexicon(word) for word in sentence.split()]
    found: list[tuple[str, ...]] = []
    for ways in product(*words):
        found.append(tuple(symbols[phone] for way in ways for phone in way))
        if len(found) == MOST_WAYS:
            break
    return found


def written(network: PhonemeNetwork, sound: Sound) -> tuple[str, ...]:
    """What the network writes when it hears a sound: phones, without a grammar."""
    best = network.log_probs(sound).argmax(axis=1)
    kept = [int(one) for place, one in enumerate(best) if place == 0 or one != best[place - 1]]
    silent = (network.blank, network.boundary)
    return tuple(network.symbols[one] for one in kept if one not in silent)


def as_heard(phones: Sequence[str], symbols: Sequence[str], blank: int) -> NDArray[np.float32]:
    """What a network would write that hears these phones, shape (frames, symbols)."""
    gap = np.full(len(symbols), NEVER, dtype=np.float32)
    known = [(number, symbol) for number, symbol in enumerate(symbols) if symbol in PHONES]
    for number, symbol in known:
        gap[number] = -omitted(symbol)
    gap[blank] = 0.0
    rows = [gap] * GAPS
    for phone in phones:
        row = np.full(len(symbols), NEVER, dtype=np.float32)
        for number, symbol in known:
            row[number] = -unlike(phone, symbol)
        row[blank] = -omitted(phone)
        rows += [row, *[gap] * GAPS]
    return np.stack(rows)
