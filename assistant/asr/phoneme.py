"""The built-in recogniser: a phoneme network, and the sentence of the grammar that fits its output best."""

import heapq
import math
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Generic

import numpy as np
from numpy.typing import NDArray

from assistant.asr.around import around_the_loud, frame_levels_db
from assistant.asr.best_sentences import Search, Sentence, best_sentences
from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork
from assistant.asr.parts import Parts
from assistant.asr.phone_graph import PhoneGraph, expand
from assistant.asr.trellis import Trellis
from assistant.ports import NOTHING_HEARD, Asking, Hypothesis, M, Recognition, Sound, WordGraph

NEAR_COST = 8.0
"""Up to this multiple of the limit of cost a sentence is decoded again; what costs more is talk."""
FULL_PHONES = 8
"""`DecodingLimits.full_phones` of fine-tuned weights."""
NEAR = 5 / 3
"""`DecodingLimits.near` of fine-tuned weights."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DecodingLimits:
    """When a sentence is accepted, and how far its rivals are searched for."""

    cost: float = 1.4
    """Log-probability lost per phone against the best path without grammar; above it nothing is accepted.

    With the packaged weights some 94 % of clean synthetic commands are accepted at 1.4, and 3 % of 188 real
    clips that hold no command; at 2.0 it is 95 % and 10 %, at 1.0 92 % and 1 %.
    """
    full_phones: int = 0
    """A sentence of fewer phones has to fit better in proportion: single words of talk are near single words
    of command.

    With the fine-tuned weights 8 lost none of 2,257 right commands down to 5 dB, and accepted 9 instead of 11
    of 540 real clips that hold no command.
    """
    near: float = 0.0
    """Up to this share of `cost` a sentence that is not accepted is near; 0: none is.

    Only where no other meaning comes within `near_margin` (`tests/bench/hearing/FINDINGS.md`).
    """
    near_margin: float = 8.0
    margin: float = 20.0
    """Rivals are searched for down to this log-probability below the best; a wider margin is returned as this
    one."""
    sentences: int = 60
    """Sentences that are looked at for rivals, at most."""
    alternatives: int = 3
    """Rivals that are returned, at most."""


def build(parts: Parts[M]) -> "PhonemeRecogniser[M]":
    """The recogniser with the weights that the parts name."""
    network = PhonemeNetwork(parts.model_path, weights=parts.weights)
    fine_tuned = network.words is not None
    return PhonemeRecogniser(
        network,
        Lexicon(parts.pronunciations(network.words), network.symbols),
        parts.layer,
        meaning=parts.meaning,
        limits=DecodingLimits(cost=parts.max_cost, full_phones=FULL_PHONES, near=NEAR)
        if fine_tuned
        else DecodingLimits(cost=parts.max_cost),
    )


class PhonemeRecogniser(Generic[M]):
    """Phoneme CTC network and Viterbi search over the grammar.

    `layer`: the sentences that one layer of what may be said adds; each layer is searched by itself, so that
    a slot costs nothing until it is asked for, and then only its own words. `meaning`: sentence, and what is
    asked -> what it means, None where it means nothing; the margin is that of the best sentence which means
    something else. It is called once for a sentence, however often that is decoded.
    """

    name = "phoneme"

    def __init__(
        self,
        network: PhonemeNetwork,
        lexicon: Lexicon,
        layer: Callable[[Asking], WordGraph],
        *,
        meaning: Callable[[str, Asking], M | None],
        limits: DecodingLimits = DecodingLimits(),
    ) -> None:
        self.network = network
        self.lexicon = lexicon
        self.limits = limits
        self._meaning: Callable[[str, Asking], M | None] = lru_cache(maxsize=4096)(meaning)
        self._layer: Callable[[Asking], PhoneGraph] = cache(lambda asking: expand(layer(asking), lexicon))
        self._layer(Asking.NOTHING)

    def meaning(self, text: str, asking: Asking) -> M | None:
        """What a sentence means."""
        return self._meaning(text, asking)

    def layer(self, asking: Asking) -> WordGraph:
        """The sentences of one layer, as it was built with."""
        return self._layer(asking).words

    def recognise(self, sound: Sound, *, asking: Asking = Asking.NOTHING) -> Recognition[M]:
        """Recognise one utterance.

        What is not accepted is decoded again without those who speak softer around it.
        """
        log_probs = self.network.log_probs(sound)
        found = self.decode(log_probs, asking=asking)
        if found.accepted or found.cost > NEAR_COST * self.limits.cost:
            return found
        softer = around_the_loud(frame_levels_db(sound.pcm, len(log_probs)))
        if not softer.any():
            return found
        free = log_probs.copy()
        free[softer, self.network.blank] = free[softer].max(axis=1)
        again = self.decode(free, asking=asking)
        return again if again.accepted else found

    def decode(self, log_probs: NDArray[np.float32], *, asking: Asking = Asking.NOTHING) -> Recognition[M]:
        """The same from the network's output, shape (frames, symbols)."""
        if len(log_probs) == 0:
            return replace(NOTHING_HEARD, asking=asking)
        graphs = [graph for graph in map(self._layer, asking.layers) if graph.n_chains]
        found = judge(
            [self._trellis(graph, log_probs, graph.words.start(asking)) for graph in graphs],
            _free(log_probs),
            lambda text: self._meaning(text, asking),
            self.limits,
        )
        return replace(found, asking=asking)

    def cost_of(self, text: str, log_probs: NDArray[np.float32]) -> float:
        """Cost of one given sentence; inf when it does not fit into the frames."""
        words = text.split()
        if not words or not len(log_probs):
            return math.inf
        n_words = len(words)
        line = WordGraph(
            n_words + 1,
            tuple(range(n_words)),
            tuple(range(1, n_words + 1)),
            tuple(words),
            frozenset([n_words]),
        )
        best = next(best_sentences(self._trellis(expand(line, self.lexicon), log_probs)), None)
        return math.inf if best is None else _cost(best, _free(log_probs))

    def _trellis(self, graph: PhoneGraph, log_probs: NDArray[np.float32], start: int = 0) -> Trellis:
        trellis = Trellis(graph, self.network.blank, self.network.boundary, start)
        trellis.feed(log_probs)
        return trellis


def judge(
    trellises: Iterable[Trellis], free: float, meaning: Callable[[str], M | None], limits: DecodingLimits
) -> Recognition[M]:
    """Best sentence of all trellises, its cost against the `free` path, and its rivals of another meaning."""
    searches = [Search(trellis) for trellis in trellises]
    floor = max((search.best for search in searches), default=0.0) - limits.margin
    found = (search.sentences(floor) for search in searches)
    sentences = heapq.merge(*found, key=lambda sentence: -sentence.score)
    best = next(sentences, None)
    if best is None:
        return NOTHING_HEARD
    means = meaning(best.text)
    rivals, margin = _rivals(best, means, sentences, meaning, limits)
    if any(search.cut for search in searches):
        margin = min(margin, limits.margin)
    cost = _cost(best, free)
    accepted = cost < limits.cost * min(1.0, best.n_phones / max(1, limits.full_phones))
    return Recognition(
        Hypothesis(best.text, means, cost),
        accepted=accepted,
        margin=margin,
        alternatives=tuple(
            Hypothesis(rival.text, other, _cost(rival, free), best.score - rival.score)
            for rival, other in rivals
        ),
        near=not accepted and cost < limits.near * limits.cost and margin >= limits.near_margin,
    )


def _free(log_probs: NDArray[np.float32]) -> float:
    """Log-probability of the best path when any phones may follow each other."""
    return float(log_probs.max(axis=1).sum())


def _cost(sentence: Sentence, free: float) -> float:
    # Both were summed in another order: where they are equal, rounding may leave a little less than nothing.
    return max(0.0, free - sentence.score) / sentence.n_phones


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
