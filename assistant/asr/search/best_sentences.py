"""The backward half of decoding: the sentences of the grammar in the order of their scores, exactly.

A tree-trellis search (Soong and Huang 1991, "A tree-trellis based fast search for finding the N best sentence
hypotheses"): sentences grow from their last word to their first. What comes before a partial sentence is
known from the forward pass, so the best of them is always the one to grow, and sentences come out best first.

Several networks may have heard the same sound. A sentence's score is then the mean of its scores by each,
each with its own spellings and its own best path. What comes before a partial sentence is known for each
network by itself; the mean of the best ways there is never less than the best mean, so the order stays exact
(A*, Hart, Nilsson and Raphael 1968).
"""

import heapq
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial, reduce

import numpy as np
from numpy.typing import NDArray

from assistant.asr.search.trellis import NEVER, Trellis

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence and its best path by each network."""

    words: tuple[str, ...]
    scores: tuple[float, ...]
    """Log-probability of each path."""
    n_phones: tuple[int, ...]
    """Phones of each path."""

    @property
    def score(self) -> float:
        """Mean log-probability."""
        return sum(self.scores) / len(self.scores)

    @property
    def text(self) -> str:
        """Words with spaces."""
        return " ".join(self.words)


@dataclass(frozen=True, slots=True, eq=False)
class _Tail:
    """A partial sentence by one network: how well the frames from t on fit its last words.

    Lines: shape (frames + 1,).
    """

    n_phones: int
    through: Line
    """Score at t when frame t is in the junction before the words."""
    opening: tuple[tuple[int, Line], ...]
    """Pairs of the first phone of a pronunciation and the score when that phone starts at t."""


@dataclass(frozen=True, slots=True, eq=False)
class _Extension:
    """The last words of a sentence by each network, and the step that is to be put before them."""

    words: tuple[str, ...]
    tails: tuple[_Tail, ...]
    step: int
    chains: tuple[int, ...]
    """The best of the step's chains by each network."""


_Push = Callable[[float, _Extension | Sentence], None]

ROUNDING = 0.1
"""The forward pass is summed in single precision: a score of it may differ from the sentence's by less."""


def best_sentences(*trellises: Trellis) -> Iterator[Sentence]:
    """Sentences of the grammar, best first, each once."""
    return Search(*trellises).sentences()


class Search:
    """The sentences of one graph by one network or more; what scores too low is never grown.

    `most`: partial sentences that are grown, at most; None: all. `trellises`: of the same words from the same
    start; what one of them leaves out, none of them says.
    """

    def __init__(self, *trellises: Trellis, most: int | None = None) -> None:
        self.most = most
        self.sides = tuple(_Side(trellis) for trellis in trellises)
        self.graph = trellises[0].graph
        self.start = trellises[0].start
        self._floor = float(NEVER) / 2
        self.cut = False
        """Whether a sentence was left out because it scores below the floor."""
        self.left = -math.inf
        """What the best sentence scores at most that was given up, since too many were grown already."""
        self._last = sorted(self.graph.words.final)
        self._root = tuple(side.root() for side in self.sides)
        self._scores = self._before(self._root, self._last)

    @property
    def best(self) -> float:
        """What the best sentence scores at most, by the forward pass; `NEVER` or less where there is none.

        With one network the best sentence has that score.
        """
        return float(self._scores[1].max(initial=float(NEVER)))

    def sentences(self, floor: float = -math.inf) -> Iterator[Sentence]:
        """Sentences that score no less than `floor`, best first, each once; a little less may come too."""
        self._floor = max(floor - ROUNDING, float(NEVER) / 2)
        self.cut = False
        self.left = -math.inf
        grown = 0
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

        self._offer((), self._root, self._scores, push)
        while heap:
            behind, _, what = heapq.heappop(heap)
            if isinstance(what, Sentence):
                yield what
                continue
            if grown == self.most:
                self.left = -behind
                return
            grown += 1
            step = self.graph.steps[what.step]
            words = (step.word, *what.words)
            tails = tuple(
                side.prepend(tail, what.step, chain)
                for side, tail, chain in zip(self.sides, what.tails, what.chains, strict=True)
            )
            if self.start in step.sources:
                scores = tuple(side.begun(tail) for side, tail in zip(self.sides, tails, strict=True))
                sentence = Sentence(words, scores, tuple(tail.n_phones for tail in tails))
                push(sentence.score if min(scores) > NEVER / 2 else float(NEVER), sentence)
            self._offer(words, tails, self._before(tails, step.sources), push)

    def _before(
        self, tails: Sequence[_Tail], sources: Sequence[int]
    ) -> tuple[NDArray[np.intp], NDArray[np.float64], tuple[NDArray[np.intp], ...]]:
        """The steps that lead to the tails, the best score through each, and its chain by each network.

        The score is the most that it can be, where there are several networks.
        """
        found = [side.steps_before(tail, sources) for side, tail in zip(self.sides, tails, strict=True)]
        steps = reduce(partial(np.intersect1d, assume_unique=True), (known for known, _, _ in found))
        places = [np.searchsorted(known, steps) for known, _, _ in found]
        each = np.stack([scores[at] for (_, scores, _), at in zip(found, places, strict=True)])
        # What one network can't hear at all is no sentence, however the other hears it.
        score = np.where(each.min(axis=0) > NEVER / 2, each.mean(axis=0), float(NEVER))
        chosen = tuple(chains[at] for (_, _, chains), at in zip(found, places, strict=True))
        return steps, score, chosen

    def _offer(
        self,
        words: tuple[str, ...],
        tails: tuple[_Tail, ...],
        before: tuple[NDArray[np.intp], NDArray[np.float64], tuple[NDArray[np.intp], ...]],
        push: _Push,
    ) -> None:
        """Offer each of the steps as the word before the tails."""
        steps, score, chains = before
        self.cut = self.cut or bool((score[score < self._floor] > NEVER / 2).any())
        for place in np.flatnonzero(score >= self._floor).tolist():
            chosen = tuple(int(side[place]) for side in chains)
            push(float(score[place]), _Extension(words, tails, int(steps[place]), chosen))


class _Side:
    """What one network makes of the sound: the sums and steps that a search over its graph needs."""

    def __init__(self, trellis: Trellis) -> None:
        self.graph = trellis.graph
        self.blank = trellis.blank
        log_probs = trellis.log_probs.astype(np.float64)
        self.ends = trellis.ends
        self.begins = trellis.begins
        passing = np.maximum(log_probs[:, trellis.blank], log_probs[:, trellis.boundary])
        # Row s holds the sum of symbol s over the frames before t; the last row is that of a junction.
        columns = np.vstack([log_probs.T, passing])
        self.sums = np.zeros((len(columns), len(log_probs) + 1))
        np.cumsum(columns, axis=1, out=self.sums[:, 1:])

    def root(self) -> _Tail:
        """No words yet: what is left of the sound is a junction."""
        return _Tail(0, self.sums[-1, -1] - self.sums[-1], ())

    def begun(self, tail: _Tail) -> float:
        """Score of a whole sentence: of its words, and of what may lead it in."""
        lines = (tail.through, *(line for _, line in tail.opening))
        if self.begins is None:
            return float(max(line[0] for line in lines))
        return float(max((self.begins + line[:-1]).max() for line in lines))

    def steps_before(
        self, tail: _Tail, sources: Sequence[int]
    ) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.intp]]:
        """Steps into these junctions, score of the best path through each, and its chain; shapes (steps,)."""
        chains = self.graph.chains_into(sources)
        if not len(chains):
            return chains, np.zeros(0), chains
        score = self._whole(tail, chains).max(axis=0)
        step = self.graph.step[chains]
        starts = np.flatnonzero(np.append(True, step[1:] != step[:-1]))
        best = np.maximum.reduceat(score, starts)
        # The first chain of each step that has the step's best score.
        at_best = np.flatnonzero(score == np.repeat(best, np.diff(np.append(starts, len(step)))))
        chosen = at_best[np.searchsorted(at_best, starts)]
        return step[starts], best, chains[chosen]

    def _whole(self, tail: _Tail, chains: NDArray[np.intp]) -> NDArray[np.float64]:
        """Score of the best path in whose frame t a chain ends before a tail, shape (frames, chains)."""
        ends = self.ends[:, chains]
        whole = ends + self._after(tail, None)[1:, np.newaxis]
        last = self.graph.label[self.graph.last[chains]]
        for opening in {phone for phone, _ in tail.opening}:
            same = np.flatnonzero(last == opening)
            whole[:, same] = ends[:, same] + self._after(tail, opening)[1:, np.newaxis]
        return whole

    def _after(self, tail: _Tail, last_phone: int | None) -> Line:
        """How well the frames from t on fit the tail when a word ended in frame t - 1 with that phone."""
        lines = [line for phone, line in tail.opening if phone != last_phone]
        after: Line = np.maximum.reduce([tail.through, *lines])
        return after

    def prepend(self, tail: _Tail, step: int, chain: int) -> _Tail:
        """Put the word of a step, in all its pronunciations, before a tail; `chain`: the best of them."""
        graph = self.graph
        opening = [
            (int(phones[0]), self._word(phones, self._after(tail, int(phones[-1]))))
            for phones in graph.spelling(step)
        ]
        opened = np.maximum.reduce([line for _, line in opening])
        return _Tail(
            n_phones=len(graph.phones(chain)) + tail.n_phones,
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
