"""A sentence behind words that nobody foresaw: "pasta's coming out smooth, die's warm". Pure.

What is said before the sentence is left unexplained, as any phones of any words (the filler of word
spotting: Rose and Paul 1990, "A hidden Markov model based keyword recognition system"). It is looked for only
where the whole utterance fits no sentence, and what is found is only ever asked about: a negation may be
among the words that nobody heard.
"""

from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from assistant.asr.confidence import UNCONFIRMED
from assistant.asr.search.trellis import NEVER
from assistant.ports import Recognition

M = TypeVar("M")

LEAST_FRAMES = 12
"""Frames that are spoken before the sentence, at least.

Less is no clause, but a word that the ear mistook, or a "don't".
"""
BEGUN_LATER = 2.0
"""Log-probability that a sentence costs where it does not begin with the first word."""
MOST_COST, LEAST_LEAD, LEAST_PHONES = 0.7, 6.0, 10
"""What it has to fit like (log-probability lost a phone), how far another meaning has to be behind, and how
long it has to be (phones): `tests/bench/hearing/FINDINGS.md` has what was tried."""


def begins(log_probs: NDArray[np.float32], boundary: int) -> NDArray[np.float32]:
    """With which score a sentence may begin in each frame: the first, or one at the network's `boundary`.

    `log_probs`: shape (frames, symbols); returned: shape (frames,), against the best path without grammar.
    """
    at = np.full(len(log_probs), NEVER, dtype=np.float32)
    at[:1] = 0.0
    likeliest = log_probs.argmax(axis=1) == boundary
    parted = np.flatnonzero(likeliest[LEAST_FRAMES:] | likeliest[LEAST_FRAMES - 1 : -1]) + LEAST_FRAMES
    before = np.cumsum(log_probs.max(axis=1)) - log_probs.max(axis=1)
    at[parted] = before[parted] - BEGUN_LATER
    return at


def worth_asking(found: Recognition[M], whole: Recognition[M]) -> Recognition[M] | None:
    """What was found behind other words, as something to ask about; None where it is too little for that.

    `whole`: what the utterance is as one sentence; where that is found again, nothing leads it in.
    """
    evidence = found.evidence
    if (
        evidence is None
        or (found.text == whole.text and found.cost >= whole.cost)
        or found.meaning is None
        or max(evidence.costs) > MOST_COST
        or min(evidence.leads) < LEAST_LEAD
        or evidence.phones < LEAST_PHONES
    ):
        return None
    return replace(found, accepted=False, near=True, sure=min(found.sure, UNCONFIRMED))
