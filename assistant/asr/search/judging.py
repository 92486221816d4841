"""The best sentence that networks heard, how sure it is, and what else may have been said. Pure."""

import heapq
import math
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.asr.confidence import ACCEPTED, NEAR, Confidence
from assistant.asr.search.best_sentences import ROUNDING, Search, Sentence, best_sentences
from assistant.asr.search.trellis import Trellis
from assistant.ports import NOTHING_HEARD, Evidence, Hypothesis, M, Recognition


@dataclass(frozen=True, slots=True, kw_only=True)
class DecodingLimits:
    """How far the rivals of a sentence are searched for, and what is talk."""

    talk: float = 5.0
    """What costs more is not decoded again without what is softer around it."""
    margin: float = 20.0
    """Rivals are searched for down to this log-probability below the best; a wider margin is returned as this
    one."""
    grown: int = 200
    """Partial sentences that are looked at, at most.

    Of commands by synthetic voices none needed more than 70 down to 0 dB; in talk that fits nothing there is
    no end.
    """
    sentences: int = 60
    """Sentences that are looked at for rivals, at most."""
    alternatives: int = 3
    """Rivals that are returned, at most."""


USUAL = DecodingLimits()


def judge(
    graphs: Sequence[Sequence[Trellis]],
    free: Sequence[float],
    meaning: Callable[[str], M | None],
    confidence: Confidence,
    limits: DecodingLimits,
) -> Recognition[M]:
    """Best sentence of all graphs, its cost against the `free` paths, and its rivals of another meaning.

    A graph is given by a trellis of each network.
    """
    searches = [Search(*trellises, most=limits.grown) for trellises in graphs]
    best, sentences = _best_first(searches, limits.margin)
    if best is None:
        return _first_alone(graphs, free, meaning)
    means = meaning(best.text)
    rivals, margin = _rivals(best, means, sentences, meaning, limits)
    if any(search.cut for search in searches):
        margin = min(margin, limits.margin)
    margin = min([margin, *(max(0.0, best.score - search.left) for search in searches)])
    lost = cost(best, free)
    leads = (
        [score - other for score, other in zip(best.scores, rivals[0][0].scores, strict=True)]
        if rivals
        else [min(margin, limits.margin)] * len(best.scores)
    )
    evidence = Evidence(costs=_costs(best, free), leads=tuple(leads), phones=best.n_phones[0])
    sure = confidence.probability(evidence)
    return Recognition(
        Hypothesis(best.text, means, lost),
        accepted=sure >= ACCEPTED,
        margin=margin,
        alternatives=tuple(
            Hypothesis(rival.text, other, cost(rival, free), best.score - rival.score)
            for rival, other in rivals
        ),
        near=NEAR <= sure < ACCEPTED,
        sure=sure,
        evidence=evidence,
    )


def _first_alone(
    graphs: Sequence[Sequence[Trellis]], free: Sequence[float], meaning: Callable[[str], M | None]
) -> Recognition[M]:
    """Where the networks together come to no end it is talk: what the first one makes of it, not accepted."""
    found = (next(best_sentences(trellises[0]), None) for trellises in graphs)
    best = max((one for one in found if one is not None), key=lambda one: one.score, default=None)
    if best is None:
        return NOTHING_HEARD
    return Recognition(
        Hypothesis(best.text, meaning(best.text), cost(best, free[:1])), accepted=False, margin=0.0, sure=0.0
    )


def _best_first(searches: Sequence[Search], margin: float) -> tuple[Sentence | None, Iterator[Sentence]]:
    """The best sentence, and those after it down to a margin below it."""
    most = max((search.best for search in searches), default=0.0)
    depth = margin
    while True:
        floor = most - depth
        found = (search.sentences(floor) for search in searches)
        sentences = heapq.merge(*found, key=lambda sentence: -sentence.score)
        best = next(sentences, None)
        if best is not None and best.score - margin >= floor - ROUNDING:
            return best, sentences
        if not any(search.cut for search in searches) or any(search.left > -math.inf for search in searches):
            return best, sentences
        depth = 2 * depth if best is None else most - best.score + margin


def free_score(log_probs: NDArray[np.float32]) -> float:
    """Log-probability of the best path when any phones may follow each other."""
    return float(log_probs.max(axis=1).sum())


def _costs(sentence: Sentence, most: Sequence[float]) -> tuple[float, ...]:
    """Log-probability lost per phone against `most`, by each network."""
    # Both were summed in another order: where they are equal, rounding may leave a little less than nothing.
    return tuple(
        max(0.0, best - score) / n
        for best, score, n in zip(most, sentence.scores, sentence.n_phones, strict=True)
    )


def cost(sentence: Sentence, free: Sequence[float]) -> float:
    """Mean of what is lost per phone against the best paths without grammar."""
    costs = _costs(sentence, free)
    return sum(costs) / len(costs)


def _rivals(
    best: Sentence,
    means: M | None,
    others: Iterator[Sentence],
    meaning: Callable[[str], M | None],
    limits: DecodingLimits,
) -> tuple[list[tuple[Sentence, M | None]], float]:
    """Best sentence of each other meaning, best first, and the first one's distance; inf when there is none.

    Sentences without a meaning differ by their words.
    """
    known: set[Hashable] = {best.text if means is None else means}
    rivals: list[tuple[Sentence, M | None]] = []
    margin = math.inf
    for count, sentence in enumerate(others, start=1):
        distance = best.score - sentence.score
        if distance > limits.margin or count > limits.sentences:
            return rivals, min(margin, distance, limits.margin)
        other = meaning(sentence.text)
        key = sentence.text if other is None else other
        if key in known:
            continue
        known.add(key)
        rivals.append((sentence, other))
        margin = min(margin, distance)
        if len(rivals) == limits.alternatives:
            break
    return rivals, margin
