"""The backward half of decoding: the sentences of the grammar in the order of their scores, exactly.

A tree-trellis search (Soong and Huang 1991, "A tree-trellis based fast search for finding the N best sentence
hypotheses"): sentences grow from their last word to their first. What comes before a partial sentence is
known from the forward pass, so the best of them is always the one to grow, and sentences come out best first.
"""

import heapq
import math
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
    """A tail, and the step that is to be put before it."""

    tail: _Tail
    step: int
    chain: int
    """The best of the step's chains."""


_Push = Callable[[float, _Extension | Sentence], None]

ROUNDING = 0.1
"""The forward pass is summed in single precision: a score of it may differ from the sentence's by less."""


def best_sentences(trellis: Trellis) -> Iterator[Sentence]:
    """Sentences of the grammar, best first, each once."""
    return Search(trellis).sentences()


class Search:
    """The sentences of one trellis; what scores too low is never grown."""

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
        self._floor = float(NEVER) / 2
        self.cut = False
        """Whether a sentence was left out because it scores below the floor."""
        self._root = _Tail((), 0, self.sums[-1, -1] - self.sums[-1], ())
        self._last = self.graph.chains_into(sorted(self.graph.words.final))
        self._scores = self._whole(self._root, self._last).max(axis=0, initial=float(NEVER))

    @property
    def best(self) -> float:
        """Score of the best sentence, by the forward pass; `NEVER` or less where there is none."""
        return float(self._scores.max(initial=float(NEVER)))

    def sentences(self, floor: float = -math.inf) -> Iterator[Sentence]:
        """Sentences that score no less than `floor`, best first, each once; a little less may come too."""
        self._floor = max(floor - ROUNDING, float(NEVER) / 2)
        # The counter keeps equal scores in a fixed order and heap entries comparable.
        heap: list[tuple[float, int, _Extension | Sentence]] = []
        count = 0

        def push(score: float, what: _Extension | Sentence) -> None:
            nonlocal count
            if score >= self._floor:
                heapq.heappush(heap, (-score, count, what))
                count += 1
            elif score > NEVER / 2:
                self.cut = True

        self._offer(self._root, self._last, self._scores, push)
        while heap:
            _, _, what = heapq.heappop(heap)
            if isinstance(what, Sentence):
                yield what
                continue
            tail = self._prepend(what)
            sources = self.graph.steps[what.step].sources
            if self.start in sources:
                score = max(tail.through[0], *(line[0] for _, line in tail.opening))
                push(float(score), Sentence(tail.words, float(score), tail.n_phones))
            chains = self.graph.chains_into(sources)
            self._offer(tail, chains, self._whole(tail, chains).max(axis=0, initial=float(NEVER)), push)

    def _whole(self, tail: _Tail, chains: NDArray[np.intp]) -> NDArray[np.float64]:
        """Score of the best path in whose frame t a chain ends before a tail, shape (frames, chains)."""
        ends = self.ends[:, chains]
        whole = ends + self._after(tail, None)[1:, np.newaxis]
        last = self.graph.label[self.graph.last[chains]]
        for opening in {phone for phone, _ in tail.opening}:
            same = np.flatnonzero(last == opening)
            whole[:, same] = ends[:, same] + self._after(tail, opening)[1:, np.newaxis]
        return whole

    def _offer(self, tail: _Tail, chains: NDArray[np.intp], score: NDArray[np.float64], push: _Push) -> None:
        """Offer the steps of some chains as the word before a tail."""
        high = np.flatnonzero(score >= self._floor)
        self.cut = self.cut or bool((score[score < self._floor] > NEVER / 2).any())
        best: dict[int, int] = {}
        for place in high.tolist():
            step = int(self.graph.step[chains[place]])
            if step not in best or score[place] > score[best[step]]:
                best[step] = place
        for step, place in best.items():
            push(float(score[place]), _Extension(tail, step, int(chains[place])))

    def _after(self, tail: _Tail, last_phone: int | None) -> Line:
        """How well the frames from t on fit the tail when a word ended in frame t - 1 with that phone."""
        lines = [line for phone, line in tail.opening if phone != last_phone]
        after: Line = np.maximum.reduce([tail.through, *lines])
        return after

    def _prepend(self, extension: _Extension) -> _Tail:
        """Put the word of an extension, in all its pronunciations, before its tail."""
        graph = self.graph
        opening = [
            (int(phones[0]), self._word(phones, self._after(extension.tail, int(phones[-1]))))
            for phones in graph.spelling(extension.step)
        ]
        opened = np.maximum.reduce([line for _, line in opening])
        return _Tail(
            words=(graph.steps[extension.step].word, *extension.tail.words),
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
