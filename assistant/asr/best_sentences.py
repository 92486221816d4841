"""The backward half of decoding: the sentences of the grammar in the order of their scores, exactly.

A tree-trellis search (Soong and Huang 1991, "A tree-trellis based fast search for finding the N best sentence
hypotheses"): sentences grow from their last word to their first. What comes before a partial sentence is
known from the forward pass, so the best of them is always the one to grow, and sentences come out best first.
"""

import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.asr.trellis import NEVER, Trellis

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence and its best path."""

    words: tuple[str, ...]
    score: float
    """Log-probability of the path."""
    n_phones: int
    """Phones of the path."""

    @property
    def text(self) -> str:
        """Words with spaces."""
        return " ".join(self.words)


@dataclass(frozen=True, slots=True, eq=False)
class _Tail:
    """A partial sentence: its last words, and how well the frames from t on fit them.

    Lines: shape (frames + 1,).
    """

    words: tuple[str, ...]
    n_phones: int
    through: Line
    """Score at t when frame t is in the junction before the words."""
    opening: tuple[tuple[int, Line], ...]
    """Pairs of the first phone of a pronunciation and the score when that phone starts at t."""


@dataclass(frozen=True, slots=True, eq=False)
class _Extension:
    """A tail, and the arc that is to be put before it."""

    tail: _Tail
    arc: int
    chain: int
    """The best of the arc's chains."""


_Push = Callable[[float, _Extension | Sentence], None]


def best_sentences(trellis: Trellis) -> Iterator[Sentence]:
    """Sentences of the grammar, best first, each once."""
    return _Search(trellis).run()


class _Search:
    def __init__(self, trellis: Trellis) -> None:
        self.graph = trellis.graph
        self.start = trellis.start
        self.blank = trellis.blank
        log_probs = trellis.log_probs.astype(np.float64)
        self.n_frames = len(log_probs)
        self.ends = trellis.ends
        passing = np.maximum(log_probs[:, trellis.blank], log_probs[:, trellis.boundary])
        # Row s holds the sum of symbol s over the frames before t; the last row is that of a junction.
        columns = np.vstack([log_probs.T, passing])
        self.sums = np.zeros((len(columns), self.n_frames + 1))
        np.cumsum(columns, axis=1, out=self.sums[:, 1:])

    def run(self) -> Iterator[Sentence]:
        # The counter keeps equal scores in a fixed order and heap entries comparable.
        heap: list[tuple[float, int, _Extension | Sentence]] = []
        count = 0

        def push(score: float, what: _Extension | Sentence) -> None:
            nonlocal count
            if score > NEVER / 2:
                heapq.heappush(heap, (-score, count, what))
                count += 1

        silence = self.sums[-1, -1] - self.sums[-1]
        root = _Tail((), 0, silence, ())
        for state in sorted(self.graph.words.final):
            self._grow(root, state, push)
        while heap:
            _, _, what = heapq.heappop(heap)
            if isinstance(what, Sentence):
                yield what
                continue
            tail = self._prepend(what)
            source = self.graph.words.source[what.arc]
            if source == self.start:
                score = max(tail.through[0], *(line[0] for _, line in tail.opening))
                push(score, Sentence(tail.words, float(score), tail.n_phones))
            self._grow(tail, source, push)

    def _grow(self, tail: _Tail, state: int, push: _Push) -> None:
        """Offer every arc into `state` as the word before the tail."""
        chains = self.graph.chains_into(state)
        if chains.start == chains.stop:
            return
        whole = self.ends[chains] + self._after(tail, None)[1:]
        last = self.graph.label[self.graph.last[chains]]
        for opening in {phone for phone, _ in tail.opening}:
            same = np.flatnonzero(last == opening)
            whole[same] = self.ends[chains][same] + self._after(tail, opening)[1:]
        score = whole.max(axis=1)
        arcs = self.graph.chain_arc[chains]
        start = np.flatnonzero(np.diff(arcs, prepend=-1))
        for lo, hi in zip(start, [*start[1:], len(arcs)], strict=True):
            best = lo + int(np.argmax(score[lo:hi]))
            push(float(score[best]), _Extension(tail, int(arcs[best]), chains.start + best))

    def _after(self, tail: _Tail, last_phone: int | None) -> Line:
        """How well the frames from t on fit the tail when a word ended in frame t - 1 with that phone."""
        lines = [line for phone, line in tail.opening if phone != last_phone]
        after: Line = np.maximum.reduce([tail.through, *lines])
        return after

    def _prepend(self, extension: _Extension) -> _Tail:
        """Put the word of an extension, in all its pronunciations, before its tail."""
        graph = self.graph
        chains = graph.chains_into(graph.words.target[extension.arc])
        arcs = graph.chain_arc[chains]
        lo, hi = np.searchsorted(arcs, [extension.arc, extension.arc + 1]) + chains.start
        opening = []
        for chain in range(lo, hi):
            phones = graph.phones(chain)
            opening.append((int(phones[0]), self._word(phones, self._after(extension.tail, int(phones[-1])))))
        opened = np.maximum.reduce([line for _, line in opening])
        return _Tail(
            words=(graph.words.word[extension.arc], *extension.tail.words),
            n_phones=len(graph.phones(extension.chain)) + extension.tail.n_phones,
            through=self._stay(-1, opened),
            opening=tuple(opening),
        )

    def _word(self, phones: NDArray[np.intp], after: Line) -> Line:
        """How well the frames from t on fit the word from its first phone on, and then what comes `after`."""
        line = self._stay(phones[-1], after)
        for phone, following in zip(phones[-2::-1], phones[:0:-1], strict=True):
            onward = self._stay(self.blank, line)
            if phone != following:
                np.maximum(onward, line, out=onward)
            line = self._stay(phone, onward)
        return line

    def _stay(self, symbol: int, after: Line) -> Line:
        """Emit one symbol for one or more frames from t on, then go on with `after`; shape (frames + 1,).

        x[t] = e[t] + max(x[t + 1], after[t + 1]), solved with running sums instead of a loop over frames.
        """
        total = self.sums[symbol]
        line = np.full(len(after), float(NEVER))
        best_later = np.maximum.accumulate((total + after)[:0:-1])[::-1]
        np.subtract(best_later, total[:-1], out=line[:-1])
        return line
