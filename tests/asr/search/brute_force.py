"""The definition of CTC, word for word: every labelling of every frame is looked at.

Graves, Fernandez, Gomez, Schmidhuber, "Connectionist Temporal Classification", ICML 2006, section 3:
the map B removes first the repeated labels and then the blanks from a path.
"""

from collections.abc import Mapping, Sequence
from itertools import groupby, product

import numpy as np
from numpy.typing import NDArray

from assistant.ports import WordGraph

Spelling = Mapping[str, Sequence[Sequence[int]]]


def collapse(path: Sequence[int], blank: int) -> tuple[int, ...]:
    return tuple(label for label, _ in groupby(path) if label != blank)


def sentences_of(
    labels: Sequence[int], graph: WordGraph, spelling: Spelling, boundary: int
) -> set[tuple[str, ...]]:
    """Every sentence of the graph that is spelled by the labels, boundaries anywhere but inside a word."""
    found = set()

    def walk(place: int, state: int, words: tuple[str, ...]) -> None:
        if place < len(labels) and labels[place] == boundary:
            walk(place + 1, state, words)
            return
        if place == len(labels) and state in graph.final:
            found.add(words)
        for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
            if source != state:
                continue
            for phones in spelling[word]:
                if tuple(labels[place : place + len(phones)]) == tuple(phones):
                    walk(place + len(phones), target, (*words, word))

    walk(0, 0, ())
    return found


def best_scores(
    log_probs: NDArray[np.float64], graph: WordGraph, spelling: Spelling, blank: int, boundary: int
) -> dict[tuple[str, ...], float]:
    """Sentence -> log-probability of its best path, for all sentences that fit into the frames."""
    best: dict[tuple[str, ...], float] = {}
    known: dict[tuple[int, ...], set[tuple[str, ...]]] = {}
    for path in product(range(log_probs.shape[1]), repeat=len(log_probs)):
        labels = collapse(path, blank)
        if labels not in known:
            known[labels] = sentences_of(labels, graph, spelling, boundary)
        if known[labels]:
            score = float(log_probs[np.arange(len(path)), path].sum())
            for sentence in known[labels]:
                best[sentence] = max(score, best.get(sentence, -np.inf))
    return best
