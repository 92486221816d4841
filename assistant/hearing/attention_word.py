"""The attention word: when one is set, a command counts only after it. None is set by default."""

from collections.abc import Callable
from dataclasses import replace
from typing import Generic

from assistant.ports import Asking, Hypothesis, M, Recogniser, Recognition, Sound, WordGraph


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


def asked_for(layer: Callable[[Asking], WordGraph], word: str) -> Callable[[Asking], WordGraph]:
    """Layers of a grammar, the commands after the word; while something is asked no sentence needs it."""

    def after(asking: Asking) -> WordGraph:
        return prefixed(layer(asking), word) if asking is Asking.NOTHING else layer(asking)

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

    def recognise(self, sound: Sound, *, asking: Asking = Asking.NOTHING) -> Recognition[M]:
        """Recognise one utterance."""
        found = self._recogniser.recognise(sound, asking=asking)
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
