"""Which symbols a network writes where one cook says a phone, and what follows for the others. Pure.

A confusion matrix of phones, counted along the best paths of sentences that are known, in place of a network
that is taught anew: where a cook says "s" for "th", either is then heard as "th". The counts of a few
sentences are shrunk towards "as it is written" (posterior mean under a Dirichlet prior).
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.asr.adapting.alignment import Alignment

Shares = Mapping[str, Mapping[str, float]]
"""Symbol of a phone that is meant -> other symbols that are written in its place, and the share of each."""
Cook = Mapping[str, Shares]
"""How one cook says the phones: by each network, which is named by the digest of its weights."""
NO_COOK: Cook = {}
PRIOR = 20.0
"""So many times each phone was as it is written, before anything was counted."""
LEAST = 0.01
"""A share below this is none: a few hundred numbers are left."""
_FLOOR = np.float32(1e-30)


def counted(
    heard: Iterable[tuple[NDArray[np.float32], Alignment]], symbols: Sequence[str], blank: int, boundary: int
) -> Shares:
    """What a network wrote in place of each phone, from its outputs and the paths of what was said.

    A phone that lasts several frames counts in the one where the blank is least likely; what is swallowed is
    written as a blank.
    """
    total: dict[int, NDArray[np.float64]] = {}
    for log_probs, alignment in heard:
        bounds = np.flatnonzero(np.diff(alignment.symbols, prepend=-1, append=-1))
        for begin, end in pairwise(bounds.tolist()):
            phone = int(alignment.symbols[begin])
            if phone in (blank, boundary):
                continue
            frame = begin + int(log_probs[begin:end, blank].argmin())
            total.setdefault(phone, np.zeros(len(symbols)))
            total[phone] += np.exp(log_probs[frame].astype(np.float64))
    found: dict[str, dict[str, float]] = {}
    for phone, counts in sorted(total.items()):
        shares = counts / (counts.sum() + PRIOR)
        others = {
            symbols[other]: round(float(shares[other]), 3)
            for other in np.flatnonzero(shares >= LEAST).tolist()
            if other != phone
        }
        if others:
            found[symbols[phone]] = others
    return found


class Confusions:
    """The same in numbers, to be laid over an output. Symbols that the network lacks are left out."""

    def __init__(self, shares: Shares, symbols: Sequence[str]) -> None:
        number = {symbol: place for place, symbol in enumerate(symbols)}
        meant = [phone for phone in shares if phone in number]
        self._meant = np.array([number[phone] for phone in meant], np.intp)
        self._shares = np.zeros((len(symbols), len(meant)), np.float32)
        for column, phone in enumerate(meant):
            others = {number[other]: share for other, share in shares[phone].items() if other in number}
            self._shares[list(others), column] = list(others.values())
            self._shares[number[phone], column] = 1.0 - sum(others.values())

    def __call__(self, log_probs: NDArray[np.float32]) -> NDArray[np.float32]:
        """The output, shape (frames, symbols), with each phone as likely as all that is said for it."""
        if not len(self._meant):
            return log_probs
        made = log_probs.copy()
        made[:, self._meant] = np.log(np.maximum(np.exp(log_probs) @ self._shares, _FLOOR))
        return made
