"""The built-in recogniser: phoneme networks, and the sentence of the grammar that fits their outputs best."""

import copy
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Generic, Self

import numpy as np
from numpy.typing import NDArray

from assistant.asr.adapting.confusions import Confusions, Cook
from assistant.asr.around import around_the_loud, frame_levels_db
from assistant.asr.confidence import ALONE, BOTH, Confidence
from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork, named
from assistant.asr.otherwise.in_other_words import InOtherWords
from assistant.asr.parts import Parts
from assistant.asr.search.best_sentences import best_sentences
from assistant.asr.search.judging import USUAL, DecodingLimits, cost, free_score, judge
from assistant.asr.search.led_in import begins, worth_asking
from assistant.asr.search.phone_graph import PhoneGraph, expand
from assistant.asr.search.silence import spoken_frames
from assistant.asr.search.trellis import Trellis
from assistant.ports import (
    NOTHING_HEARD,
    Asking,
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
    first = listening[0]
    alone = ALONE["packaged" if first.network.words is None else "kitchen"]
    otherwise = (
        None
        if parts.ways is None
        else InOtherWords(parts.ways, first.lexicon, first.network.blank, first.network.boundary)
    )
    return PhonemeRecogniser(
        listening,
        parts.layer,
        meaning=parts.meaning,
        confidence=BOTH if len(listening) > 1 else alone,
        otherwise=otherwise,
    ).hearing(parts.cook)


class PhonemeRecogniser(Generic[M]):
    """Phoneme CTC networks and Viterbi search over the grammar.

    `experts`: the networks that listen, the first the one whose spellings count for what needs one.
    `layer`: the sentences that one layer of what may be said adds; each layer is searched by itself, so that
    a slot costs nothing until it is asked for, and then only its own words. `meaning`: sentence, and what is
    asked -> what it means, None where it means nothing; the margin is that of the best sentence which means
    something else. It is called once for a sentence, however often that is decoded. `otherwise`: what becomes
    of an utterance that fits no sentence, by the first network; None: nothing.
    """

    name = "phoneme"

    def __init__(
        self,
        experts: Sequence[Expert],
        layer: Callable[[Asking], WordGraph],
        *,
        meaning: Callable[[str, Asking], M | None],
        confidence: Confidence,
        limits: DecodingLimits = USUAL,
        otherwise: InOtherWords[M] | None = None,
    ) -> None:
        self.experts = tuple(experts)
        self.confidence = confidence
        self.limits = limits
        self._otherwise = otherwise
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

        What is not accepted is decoded again without those who speak softer around it, then without the words
        before a sentence, then word by word: what the last two find is only `near`.
        """
        outputs = self.outputs(sound, wanted=wanted)
        if len(outputs[0]) == 0:
            return replace(NOTHING_HEARD, asking=asking)
        spoken = self._spoken(outputs)
        looked = self._look(spoken, asking, wanted)
        found = self._judged(looked, spoken, asking)
        if not found.accepted and found.cost <= self.limits.talk:
            softer = around_the_loud(frame_levels_db(sound.pcm, len(outputs[0])))
            found = self._again_without(softer, outputs, asking, wanted) or found
        if found.accepted or found.near:
            return found
        led_in = [[_led_in(trellis, wanted) for trellis in trellises] for trellises in looked]
        behind = worth_asking(self._judged(led_in, spoken, asking), found)
        if behind is not None or self._otherwise is None:
            return behind or found
        return self._otherwise(spoken[0], asking, wanted) or found

    def _again_without(
        self,
        softer: NDArray[np.bool_],
        outputs: Sequence[NDArray[np.float32]],
        asking: Asking,
        wanted: Wanted,
    ) -> Recognition[M] | None:
        """What is accepted where these frames need no explanation; None where nothing is."""
        if not softer.any():
            return None
        freed = [
            _free_where(softer, log_probs, expert.network.blank)
            for log_probs, expert in zip(outputs, self.experts, strict=True)
        ]
        again = self.decode(freed, asking=asking, wanted=wanted)
        return again if again.accepted else None

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
        spoken = self._spoken(outputs)
        return self._judged(self._look(spoken, asking, wanted), spoken, asking)

    def _look(
        self, spoken: Sequence[NDArray[np.float32]], asking: Asking, wanted: Wanted
    ) -> list[list[Trellis]]:
        """The trellises of each layer that may be said."""
        layers = [graphs for graphs in map(self._layer, asking.layers) if graphs[0].n_chains]
        return [self._trellises(graphs, spoken, graphs[0].words.start(asking), wanted) for graphs in layers]

    def _judged(
        self, looked: Sequence[Sequence[Trellis]], spoken: Sequence[NDArray[np.float32]], asking: Asking
    ) -> Recognition[M]:
        found = judge(
            looked,
            [free_score(log_probs) for log_probs in spoken],
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
        return math.inf if best is None else cost(best, [free_score(log_probs) for log_probs in outputs])

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


def _led_in(trellis: Trellis, wanted: Wanted) -> Trellis:
    """The same sound where a sentence may begin behind other words; what was hopeless is left out.

    Before a command nearly any words may be said, so that those of one that is led in came near already. Of
    talk this takes a fraction of the time that all words would.
    """
    near = trellis.graph.only(trellis.near(HOPELESS))
    log_probs = trellis.log_probs
    early = begins(log_probs, trellis.boundary)
    again = Trellis(near, trellis.blank, trellis.boundary, trellis.start, BEAM, early)
    again.feed(log_probs, wanted)
    return again


def _free_where(softer: NDArray[np.bool_], log_probs: NDArray[np.float32], blank: int) -> NDArray[np.float32]:
    """The output with nothing to be explained in these frames."""
    free = log_probs.copy()
    free[softer, blank] = free[softer].max(axis=1)
    return free
