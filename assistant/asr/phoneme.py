"""The embedded recogniser: a phoneme network, and the sentence of the grammar that fits its output best."""

import math
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.asr.around import around_the_loud, frame_levels_db
from assistant.asr.best_sentences import Sentence, best_sentences
from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork
from assistant.asr.phone_graph import PhoneGraph, expand
from assistant.asr.trellis import Trellis
from assistant.ports import Alternative, Asking, Recognition, Sound, WordGraph

NEAR_COST = 8.0
"""Up to so many times the limit of cost a sentence is looked at again: beyond it lies talk."""
NOTHING = Recognition(text="", accepted=False, cost=math.inf, margin=0.0)


@dataclass(frozen=True, slots=True)
class Limits:
    """When a sentence is taken, and how far its rivals are looked for.

    `cost`: log-probability lost per phone against the best path without grammar; above it nothing is accepted.
    With the packaged weights some 94 % of clean synthetic commands are taken at 1.4, and 3 % of 188 real clips that are
    no command; at 2.0 it is 95 % and 10 %, at 1.0 92 % and 1 %.
    `full_phones`: a sentence of fewer phones has to fit better in proportion, for single words of talk lie near single
    words of command. With the taught weights 8 lost none of 2,257 right commands down to 5 dB, and took 9 instead of 11 of
    540 real clips that are no command.
    `near`: up to this share of `cost` a sentence that is not accepted is near, if nothing of another meaning comes within
    `near_margin` (`tests/bench/hearing/FINDINGS.md`); 0: none is.
    `margin`: rivals are looked for down to this much log-probability below the best; a wider margin is given
    as this one. `sentences`: how many are looked at at most. `alternatives`: how many are told.
    """

    cost: float = 1.4
    full_phones: int = 0
    near: float = 0.0
    near_margin: float = 8.0
    margin: float = 20.0
    sentences: int = 60
    alternatives: int = 3


class PhonemeRecogniser:
    """Phoneme CTC network and Viterbi over the grammar.

    `graph`: the grammar's words. `asking_graph`: the same with yes and no, for an open question; `weight_graph`: with
    bare amounts too.
    `meaning`: sentence -> what it means; the margin is that of the best sentence which means something else.
    """

    name = "phoneme"

    def __init__(
        self,
        network: PhonemeNetwork,
        lexicon: Lexicon,
        graph: WordGraph,
        asking_graph: WordGraph | None = None,
        weight_graph: WordGraph | None = None,
        *,
        meaning: Callable[[str], Hashable] = str,
        limits: Limits = Limits(),
    ) -> None:
        self.network = network
        self.lexicon = lexicon
        self.meaning = meaning
        self.limits = limits
        self._graphs: Mapping[Asking, PhoneGraph] = {
            False: expand(graph, lexicon),
            True: expand(asking_graph or graph, lexicon),
            "weight": expand(weight_graph or asking_graph or graph, lexicon),
        }

    def graph(self, *, asking: Asking) -> WordGraph:
        """The grammar's words, as it was built with."""
        return self._graphs[asking].words

    def recognise(self, sound: Sound, *, asking: Asking = False) -> Recognition:
        """Hear one utterance. What is not taken is looked at again without those who speak softer around it."""
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

    def decode(self, log_probs: NDArray[np.float32], *, asking: Asking = False) -> Recognition:
        """The same from the network's output, shape (frames, symbols)."""
        if len(log_probs) == 0:
            return NOTHING
        return judge(
            self._trellis(self._graphs[asking], log_probs), _free(log_probs), self.meaning, self.limits
        )

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

    def _trellis(self, graph: PhoneGraph, log_probs: NDArray[np.float32]) -> Trellis:
        trellis = Trellis(graph, self.network.blank, self.network.boundary)
        trellis.feed(log_probs)
        return trellis


def judge(trellis: Trellis, free: float, meaning: Callable[[str], Hashable], limits: Limits) -> Recognition:
    """Best sentence of a trellis, its cost against the `free` path, and its rivals of another meaning."""
    sentences = best_sentences(trellis)
    best = next(sentences, None)
    if best is None:
        return NOTHING
    rivals, margin = _rivals(best, sentences, meaning, limits)
    cost = _cost(best, free)
    accepted = cost < limits.cost * min(1.0, best.n_phones / max(1, limits.full_phones))
    return Recognition(
        text=best.text,
        accepted=accepted,
        cost=cost,
        margin=margin,
        alternatives=tuple(
            Alternative(rival.text, _cost(rival, free), best.score - rival.score) for rival in rivals
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
    best: Sentence, others: Iterator[Sentence], meaning: Callable[[str], Hashable], limits: Limits
) -> tuple[list[Sentence], float]:
    """Best sentence of each other meaning, best first, and the first one's distance; inf when there is none."""
    known = {meaning(best.text)}
    rivals: list[Sentence] = []
    margin = math.inf
    for count, sentence in enumerate(others, start=1):
        distance = best.score - sentence.score
        if distance > limits.margin or count > limits.sentences:
            return rivals, min(margin, distance, limits.margin)
        means = meaning(sentence.text)
        if means in known:
            continue
        known.add(means)
        rivals.append(sentence)
        margin = min(margin, distance)
        if len(rivals) == limits.alternatives:
            break
    return rivals, margin
