"""The attention word: when one is set, a command counts only after it. None is set by default."""

from collections.abc import Callable
from dataclasses import replace
from typing import Generic

from assistant.ports import Asking, Hypothesis, M, Recogniser, Recognition, Sound, Wanted, WordGraph, always


def prefixed(graph: WordGraph, word: str) -> WordGraph:
    """The sentences of a graph, each after the word, while nothing is asked."""
    return WordGraph(
        graph.n_states + 1,
        (0, *(state + 1 for state in graph.source)),
        (1, *(state + 1 for state in graph.target)),
        (word, *graph.word),
        frozenset(state + 1 for state in graph.final),
        asked_start=1,
    )


def beside(graph: WordGraph, other: WordGraph) -> WordGraph:
    """The sentences of both graphs; those of `graph` alone where a first word is one of both.

    No arc of `other` leads back to its start.
    """
    first, others = (
        {word for source, word in zip(one.source, one.word, strict=True) if source == 0}
        for one in (graph, other)
    )
    if first & others:
        return graph
    behind = graph.n_states - 1
    return WordGraph(
        behind + other.n_states,
        (*graph.source, *(behind + state if state else 0 for state in other.source)),
        (*graph.target, *(behind + state for state in other.target)),
        (*graph.word, *other.word),
        graph.final | {behind + state for state in other.final},
        asked_start=graph.asked_start,
    )


def asked_for(
    layer: Callable[[Asking], WordGraph], word: str, without_it: WordGraph | None = None
) -> Callable[[Asking], WordGraph]:
    """Layers of a grammar, the commands after the word; while something is asked no sentence needs it.

    `without_it`: sentences that never need it.
    """

    def after(asking: Asking) -> WordGraph:
        if asking is not Asking.NOTHING:
            return layer(asking)
        worded = prefixed(layer(asking), word)
        return worded if without_it is None else beside(worded, without_it)

    return after


class Attentive(Generic[M]):
    """ports.Recogniser that hears sentences after the word, and returns them without it."""

    def __init__(self, recogniser: Recogniser[M], word: str) -> None:
        self._recogniser = recogniser
        self._word = word

    @property
    def name(self) -> str:
        """Name of the engine."""
        return self._recogniser.name

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[M]:
        """Recognise one utterance."""
        found = self._recogniser.recognise(sound, asking=asking, wanted=wanted)
        if asking is not Asking.NOTHING:
            return found
        rivals = tuple(self._bare(rival) for rival in found.alternatives)
        # Whoever sets a word wants silence for all else: what fits badly may have been said without it.
        return replace(found, best=self._bare(found.best), alternatives=rivals, near=False)

    def _bare(self, found: Hypothesis[M]) -> Hypothesis[M]:
        """A hypothesis without the word; its meaning is that of the sentence after it."""
        return replace(found, text=without(found.text, self._word))


def without(text: str, word: str) -> str:
    """The sentence after the word; unchanged where it does not begin with it."""
    first, _, rest = text.partition(" ")
    return rest if first == word else text
