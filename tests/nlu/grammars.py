"""Small grammars for tests, and what a graph accepts."""

from collections.abc import Iterator

from assistant.nlu.grammar import Grammar
from assistant.nlu.jsgf import parse_jsgf
from assistant.ports import WordGraph


def jsgf(rules: str) -> str:
    """A JSGF text with these rules; the first of them is in line 3."""
    return f"#JSGF V1.0;\ngrammar test;\n{rules}\n"


def grammar(rules: str) -> Grammar:
    """Grammar of these rules."""
    return Grammar(parse_jsgf(jsgf(rules), "test.jsgf"))


def arcs_of(graph: WordGraph) -> list[dict[str, int]]:
    """Arcs of each state; fails where the graph is not deterministic."""
    arcs: list[dict[str, int]] = [{} for _ in range(graph.n_states)]
    for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
        assert word not in arcs[source], "two arcs of one word from one state"
        arcs[source][word] = target
    return arcs


class Acceptor:
    """Tells whether a graph has a sentence."""

    def __init__(self, graph: WordGraph) -> None:
        self._arcs = arcs_of(graph)
        self._final = graph.final

    def __call__(self, sentence: str) -> bool:
        state = 0
        for word in sentence.split():
            if word not in self._arcs[state]:
                return False
            state = self._arcs[state][word]
        return state in self._final


def accepts(graph: WordGraph, sentence: str) -> bool:
    """Whether a graph has this sentence."""
    return Acceptor(graph)(sentence)


def sentences(graph: WordGraph, longest: int) -> Iterator[str]:
    """All sentences of up to this many words."""
    arcs = arcs_of(graph)
    ways: list[tuple[int, tuple[str, ...]]] = [(0, ())]
    while ways:
        state, words = ways.pop()
        if state in graph.final:
            yield " ".join(words)
        if len(words) < longest:
            ways += [(target, (*words, word)) for word, target in arcs[state].items()]
