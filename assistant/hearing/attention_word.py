"""The attention word: with it on, a command counts only after the word. Off by default: few sentences need it."""

from collections.abc import Callable
from dataclasses import replace

from assistant.ports import Asking, Recogniser, Recognition, Sound, WordGraph


def prefixed(graph: WordGraph, word: str) -> WordGraph:
    """The sentences of a graph, each after the word."""
    return WordGraph(
        graph.n_states + 1,
        (0, *(state + 1 for state in graph.source)),
        (1, *(state + 1 for state in graph.target)),
        (word, *graph.word),
        frozenset(state + 1 for state in graph.final),
    )


def asked_for(graph: Callable[[Asking], WordGraph], word: str) -> Callable[[Asking], WordGraph]:
    """Graphs of a grammar after the word; while a question is open its answer needs none, nor does anything else."""
    return lambda asking: graph(asking) if asking else prefixed(graph(False), word)


class Attentive:
    """ports.Recogniser that hears sentences after the word, and gives them without it."""

    def __init__(self, recogniser: Recogniser, word: str) -> None:
        self._recogniser = recogniser
        self._word = word

    @property
    def name(self) -> str:
        """Name of the engine."""
        return self._recogniser.name

    def recognise(self, sound: Sound, *, asking: Asking = False) -> Recognition:
        """Hear one utterance."""
        found = self._recogniser.recognise(sound, asking=asking)
        if asking:
            return found
        rivals = tuple(replace(one, text=without(one.text, self._word)) for one in found.alternatives)
        # Who sets a word wants silence for all else: what fits badly may have been said without it.
        return replace(found, text=without(found.text, self._word), alternatives=rivals, near=False)


def without(text: str, word: str) -> str:
    """The sentence after the word; unchanged where it does not begin with it."""
    first, _, rest = text.partition(" ")
    return rest if first == word else text
