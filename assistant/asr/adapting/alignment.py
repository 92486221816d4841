"""Which frame of a sound is which phone of a sentence that is known: the best CTC path, by Viterbi. Pure.

The rules are those of the search (`assistant.asr.search.phone_graph`): a blank may come between two phones
and must come between two equal ones; around a word any number of blanks and word boundaries may pass.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.asr.lexicon import Phones

NEVER = -1e30


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """The best path of a sentence through a sound."""

    score: float
    """Its log-probability."""
    n_phones: int
    symbols: NDArray[np.intp]
    """Symbol of each frame."""


def align(
    log_probs: NDArray[np.float32], words: Iterable[Sequence[Phones]], *, blank: int, boundary: int
) -> Alignment | None:
    """The best path of these words, each in the pronunciation that fits best; None where it does not fit in.

    `log_probs`: shape (frames, symbols).
    """
    if not len(log_probs):
        return None
    line = _line(words, blank, boundary)
    emitted = log_probs[:, line.symbol].astype(np.float64)
    states = np.arange(len(line.symbol))
    # Behind the last state is one that is never reached, for lists of states that are filled up.
    score = np.append(np.where(line.first, emitted[0], NEVER), NEVER)
    ways: list[NDArray[np.intp]] = []
    for frame in emitted[1:]:
        each = score[line.before]
        came_by = each.argmax(axis=1)
        ways.append(came_by)
        score[:-1] = each[states, came_by] + frame
    last = int(line.last[score[line.last].argmax()])
    if score[last] < NEVER / 2:
        return None
    path = [last]
    for came_by in reversed(ways):
        path.append(int(line.before[path[-1], came_by[path[-1]]]))
    places = np.array(path[::-1])
    symbols = line.symbol[places]
    begun = np.diff(places, prepend=-1) != 0
    n_phones = int((begun & (symbols != blank) & (symbols != boundary)).sum())
    return Alignment(float(score[last]), n_phones, symbols)


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    symbol: NDArray[np.intp]
    """Of each state."""
    before: NDArray[np.intp]
    """States that each may be reached from, itself among them; filled up with the number of states."""
    first: NDArray[np.bool_]
    """Whether a sound may begin in each."""
    last: NDArray[np.intp]
    """States that a sound may end in."""


class _Draft:
    """States as they are added. The number -1 stands for the beginning of the sound."""

    def __init__(self) -> None:
        self.symbol: list[int] = []
        self.before: list[set[int]] = []

    def add(self, symbol: int, before: Iterable[int]) -> int:
        """A state that lasts one frame or more."""
        state = len(self.symbol)
        self.symbol.append(symbol)
        self.before.append({state, *before})
        return state

    def word(self, phones: Phones, blank: int, before: Sequence[int]) -> int:
        """A pronunciation; returns the state of its last phone."""
        state = self.add(phones[0], (one for one in before if one < 0 or self.symbol[one] != phones[0]))
        for last, phone in pairwise(phones):
            between = self.add(blank, [state])
            state = self.add(phone, [between] if phone == last else [between, state])
        return state


def _line(words: Iterable[Sequence[Phones]], blank: int, boundary: int) -> _Line:
    """All ways to say a sentence."""
    draft = _Draft()
    ends = [-1]
    for ways in (*words, ()):
        passing = [draft.add(blank, ends), draft.add(boundary, ends)]
        for one in passing:
            draft.before[one].update(passing)
        before = [*ends, *passing]
        ends = [draft.word(phones, blank, before) for phones in ways] or before
    n = len(draft.symbol)
    before_each = np.full((n, max(map(len, draft.before))), n, np.intp)
    for state, known in enumerate(draft.before):
        real = sorted(one for one in known if one >= 0)
        before_each[state, : len(real)] = real
    return _Line(
        np.array(draft.symbol, np.intp),
        before_each,
        np.array([-1 in known for known in draft.before]),
        np.array([one for one in ends if one >= 0], np.intp),
    )
