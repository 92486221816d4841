"""The built-in recogniser: phoneme networks, and the sentence of the grammar that fits their outputs best."""

import copy
import heapq
import math
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Generic, Self

import numpy as np
from numpy.typing import NDArray

from assistant.asr.adapting.confusions import Confusions, Cook
from assistant.asr.around import around_the_loud, frame_levels_db
from assistant.asr.confidence import ACCEPTED, ALONE, BOTH, NEAR, Confidence
from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork, named
from assistant.asr.parts import Parts
from assistant.asr.search.best_sentences import ROUNDING, Search, Sentence, best_sentences
from assistant.asr.search.phone_graph import PhoneGraph, expand
from assistant.asr.search.silence import spoken_frames
from assistant.asr.search.trellis import Trellis
from assistant.ports import (
    NOTHING_HEARD,
    Asking,
    Evidence,
    Hypothesis,
    M,
    Overtaken,
    Recognition,
    Sound,
    Wanted,
    WordGraph,
    always,
)

HOPELESS = 40.0
"""A word that everywhere ends so much behind the best path (log-probability) is not looked for again."""
BEAM = 60.0
"""Nothing goes on from what is so much behind the best path (log-probability) when it ends."""


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


@dataclass(frozen=True, slots=True)
class Expert:
    """A network and how the grammar's words are spelled for it."""

    network: PhonemeNetwork
    lexicon: Lexicon
    confusions: Confusions | None = None
    """How the cook says the phones; None for anybody."""


def experts(parts: Parts[M]) -> tuple[Expert, ...]:
    """Those that the parts name, the fine-tuned one first."""
    networks = (
        [PhonemeNetwork(parts.model_path)]
        if parts.model_path
        else [PhonemeNetwork(weights=name) for name in named(parts.weights)]
    )
    return tuple(
        Expert(network, Lexicon(parts.pronunciations(network.words), network.symbols, parts.rules))
        for network in networks
    )


def _confusions(cook: Cook, network: PhonemeNetwork) -> Confusions | None:
    """Those of this network, if there are any."""
    shares = cook.get(network.sha256)
    return Confusions(shares, network.symbols) if shares else None


def build(parts: Parts[M]) -> "PhonemeRecogniser[M]":
    """The recogniser with the weights that the parts name."""
    listening = experts(parts)
    alone = ALONE["packaged" if listening[0].network.words is None else "kitchen"]
    return PhonemeRecogniser(
        listening,
        parts.layer,
        meaning=parts.meaning,
        confidence=BOTH if len(listening) > 1 else alone,
    ).hearing(parts.cook)


class PhonemeRecogniser(Generic[M]):
    """Phoneme CTC networks and Viterbi search over the grammar.

    `experts`: the networks that listen, the first the one whose spellings count for what needs one.
    `layer`: the sentences that one layer of what may be said adds; each layer is searched by itself, so that
    a slot costs nothing until it is asked for, and then only its own words. `meaning`: sentence, and what is
    asked -> what it means, None where it means nothing; the margin is that of the best sentence which means
    something else. It is called once for a sentence, however often that is decoded.
    """

    name = "phoneme"

    def __init__(
        self,
        experts: Sequence[Expert],
        layer: Callable[[Asking], WordGraph],
        *,
        meaning: Callable[[str, Asking], M | None],
        confidence: Confidence,
        limits: DecodingLimits = DecodingLimits(),
    ) -> None:
        self.experts = tuple(experts)
        self.confidence = confidence
        self.limits = limits
        self._meaning: Callable[[str, Asking], M | None] = lru_cache(maxsize=4096)(meaning)

        def spelled(asking: Asking) -> tuple[PhoneGraph, ...]:
            words = layer(asking)
            for expert in self.experts:
                expert.lexicon.prepare(words.words)
            return tuple(expand(words, expert.lexicon) for expert in self.experts)

        self._layer: Callable[[Asking], tuple[PhoneGraph, ...]] = cache(spelled)
        self._layer(Asking.NOTHING)

    @property
    def network(self) -> PhonemeNetwork:
        """That of the first expert."""
        return self.experts[0].network

    @property
    def lexicon(self) -> Lexicon:
        """The spellings for the first expert."""
        return self.experts[0].lexicon

    def hearing(self, cook: Cook) -> Self:
        """The same with a cook's ways to say the phones; what is known of no network in use changes nothing.

        Spellings and what was looked up are shared with this one.
        """
        made = copy.copy(self)
        made.experts = tuple(
            replace(expert, confusions=_confusions(cook, expert.network)) for expert in self.experts
        )
        return made

    def meaning(self, text: str, asking: Asking) -> M | None:
        """What a sentence means."""
        return self._meaning(text, asking)

    def layer(self, asking: Asking) -> WordGraph:
        """The sentences of one layer, as it was built with."""
        return self._layer(asking)[0].words

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[M]:
        """Recognise one utterance.

        What is not accepted is decoded again without those who speak softer around it.
        """
        outputs = self.outputs(sound, wanted=wanted)
        found = self.decode(outputs, asking=asking, wanted=wanted)
        if found.accepted or found.cost > self.limits.talk:
            return found
        softer = around_the_loud(frame_levels_db(sound.pcm, len(outputs[0])))
        if not softer.any():
            return found
        again = self.decode(
            [
                _free_where(softer, log_probs, expert.network.blank)
                for log_probs, expert in zip(outputs, self.experts, strict=True)
            ],
            asking=asking,
            wanted=wanted,
        )
        return again if again.accepted else found

    def outputs(self, sound: Sound, *, wanted: Wanted = always) -> tuple[NDArray[np.float32], ...]:
        """Log-probabilities by each expert's network, shape (frames, symbols)."""
        made: list[NDArray[np.float32]] = []
        for expert in self.experts:
            if not wanted():
                raise Overtaken
            log_probs = expert.network.log_probs(sound)
            made.append(expert.confusions(log_probs) if expert.confusions else log_probs)
        return tuple(made)

    def decode(
        self,
        outputs: Sequence[NDArray[np.float32]],
        *,
        asking: Asking = Asking.NOTHING,
        wanted: Wanted = always,
    ) -> Recognition[M]:
        """The same from the networks' outputs; where there are fewer of them, by the first experts."""
        if len(outputs[0]) == 0:
            return replace(NOTHING_HEARD, asking=asking)
        outputs = self._spoken(outputs)
        layers = [graphs for graphs in map(self._layer, asking.layers) if graphs[0].n_chains]
        found = judge(
            [self._trellises(graphs, outputs, graphs[0].words.start(asking), wanted) for graphs in layers],
            [_free(log_probs) for log_probs in outputs],
            lambda text: self._meaning(text, asking),
            self.confidence,
            self.limits,
        )
        return replace(found, asking=asking)

    def cost_of(self, text: str, outputs: Sequence[NDArray[np.float32]]) -> float:
        """Cost of one given sentence; inf when it does not fit into the frames."""
        words = text.split()
        if not words or not len(outputs[0]):
            return math.inf
        outputs = self._spoken(outputs)
        n_words = len(words)
        line = WordGraph(
            n_words + 1,
            tuple(range(n_words)),
            tuple(range(1, n_words + 1)),
            tuple(words),
            frozenset([n_words]),
        )
        graphs = [expand(line, expert.lexicon) for expert in self.experts]
        best = next(best_sentences(*self._trellises(graphs, outputs)), None)
        return math.inf if best is None else _cost(best, [_free(log_probs) for log_probs in outputs])

    def _spoken(self, outputs: Sequence[NDArray[np.float32]]) -> list[NDArray[np.float32]]:
        """The frames of each output that have to be searched."""
        return [
            log_probs[spoken_frames(log_probs, expert.network.blank)]
            for expert, log_probs in zip(self.experts, outputs, strict=False)
        ]

    def _trellises(
        self,
        graphs: Sequence[PhoneGraph],
        outputs: Sequence[NDArray[np.float32]],
        start: int = 0,
        wanted: Wanted = always,
    ) -> list[Trellis]:
        """One for each output. What is hopeless for the first expert is left out for the others."""
        made: list[Trellis] = []
        for expert, graph, log_probs in zip(self.experts, graphs, outputs, strict=False):
            near = graph.only(made[0].near(HOPELESS)) if made else graph
            trellis = Trellis(near, expert.network.blank, expert.network.boundary, start, BEAM)
            trellis.feed(log_probs, wanted)
            made.append(trellis)
        return made


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
    cost = _cost(best, free)
    leads = (
        [score - other for score, other in zip(best.scores, rivals[0][0].scores, strict=True)]
        if rivals
        else [min(margin, limits.margin)] * len(best.scores)
    )
    evidence = Evidence(costs=_costs(best, free), leads=tuple(leads), phones=best.n_phones[0])
    sure = confidence.probability(evidence)
    return Recognition(
        Hypothesis(best.text, means, cost),
        accepted=sure >= ACCEPTED,
        margin=margin,
        alternatives=tuple(
            Hypothesis(rival.text, other, _cost(rival, free), best.score - rival.score)
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
        Hypothesis(best.text, meaning(best.text), _cost(best, free[:1])), accepted=False, margin=0.0, sure=0.0
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


def _free_where(softer: NDArray[np.bool_], log_probs: NDArray[np.float32], blank: int) -> NDArray[np.float32]:
    """The output with nothing to be explained in these frames."""
    free = log_probs.copy()
    free[softer, blank] = free[softer].max(axis=1)
    return free


def _free(log_probs: NDArray[np.float32]) -> float:
    """Log-probability of the best path when any phones may follow each other."""
    return float(log_probs.max(axis=1).sum())


def _costs(sentence: Sentence, most: Sequence[float]) -> tuple[float, ...]:
    """Log-probability lost per phone against `most`, by each network."""
    # Both were summed in another order: where they are equal, rounding may leave a little less than nothing.
    return tuple(
        max(0.0, best - score) / n
        for best, score, n in zip(most, sentence.scores, sentence.n_phones, strict=True)
    )


def _cost(sentence: Sentence, free: Sequence[float]) -> float:
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
