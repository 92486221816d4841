"""What can be said: the minimal deterministic automaton of it, and what follows a sentence."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Set
from contextlib import suppress
from functools import cached_property

from assistant.errors import GrammarError
from assistant.nlu.automaton import Automaton
from assistant.nlu.keeping.kept import Kept
from assistant.nlu.keeping.packed import pack_graph, unpack_graph
from assistant.nlu.meaning import THEN
from assistant.ports import Asking, WordGraph

LARGEST = 20_000
"""States of a graph at most, before equal ones are merged."""
ROOM = 1_500_000
"""Arcs of a graph, and states of the grammar that its own stand for, at most: a hundred bytes each.

The grammar that ships needs a third of it.
"""
AHEAD = 3
"""Words that are looked ahead behind a sentence, to know whether it could go on."""


class WordGraphs:
    """Minimal automata of the sentences of some layers; what can only be typed is left out."""

    def __init__(self, automaton: Automaton, kept: Kept | None = None) -> None:
        self._automaton = automaton
        self._kept = kept
        self._made: dict[frozenset[int], WordGraph] = {}

    def of(self, layers: Iterable[Asking], *, talk: bool = False) -> WordGraph:
        """The sentences of these layers, with talk or without; made when it is first asked for."""
        of = list(layers)
        start = frozenset(self._automaton.start[layer] for layer in of)
        if talk:
            start |= {self._automaton.talk}
        if start not in self._made:
            names = sorted(layer.name.lower() for layer in of)
            name = "-".join(["graph", *names, *(["talk"] if talk else [])])
            self._made[start] = kept_graph(
                self._kept, name, lambda: _merge(*_determine(self._automaton, self._alive, start))
            )
        return self._made[start]

    @cached_property
    def _alive(self) -> frozenset[int]:
        return _alive(self._automaton)


def kept_graph(kept: Kept | None, name: str, make: Callable[[], WordGraph]) -> WordGraph:
    """The word graph that an earlier start kept under this name, else the one that is made now."""
    data = None if kept is None else kept.read(name)
    if data is not None:
        with suppress(ValueError):
            return unpack_graph(data)
    graph = make()
    if kept is not None:
        kept.write(name, pack_graph(graph))
    return graph


def _alive(automaton: Automaton) -> frozenset[int]:
    """States from which an end can be said."""
    back: dict[int, list[int]] = {}
    for state, leaving in enumerate(automaton.arcs):
        for arc in leaving:
            if not arc.typed:
                back.setdefault(arc.target, []).append(state)
    alive, waiting = set(automaton.final), list(automaton.final)
    while waiting:
        for state in back.get(waiting.pop(), ()):
            if state not in alive:
                alive.add(state)
                waiting.append(state)
    return frozenset(alive)


def _determine(
    automaton: Automaton, alive: frozenset[int], start: frozenset[int]
) -> tuple[list[dict[str, int]], list[bool]]:
    """Subset construction: arcs and finality of each deterministic state; 0 is the start."""
    number = {start: 0}
    waiting = deque(number)
    arcs: list[dict[str, int]] = []
    final: list[bool] = []
    room = ROOM
    while waiting:
        subset = waiting.popleft()
        targets: dict[str, set[int]] = {}
        for state in subset:
            for arc in automaton.arcs[state]:
                if not arc.typed and arc.target in alive:
                    targets.setdefault(arc.label, set()).add(arc.target)
        room -= len(subset) + len(targets)
        if room < 0:
            raise _too_large(f"{ROOM} arcs")
        leaving: dict[str, int] = {}
        for label in sorted(targets):
            target = frozenset(targets[label])
            if target not in number:
                if len(number) == LARGEST:
                    raise _too_large(f"{LARGEST} states")
                number[target] = len(number)
                waiting.append(target)
            leaving[label] = number[target]
        arcs.append(leaving)
        final.append(any(state in automaton.final for state in subset))
    return arcs, final


def _too_large(what: str) -> GrammarError:
    return GrammarError(
        f"The grammar needs more than {what} to be heard word by word;"
        " put fewer words that may be repeated before one that matters."
    )


def _merge(arcs: list[dict[str, int]], final: list[bool]) -> WordGraph:
    """Merge states with the same continuations (Moore's refinement).

    Number them from the start, words in order.
    """
    group = [int(ends) for ends in final]
    count = 0
    while len(set(group)) != count:
        count = len(set(group))
        signature: dict[tuple[int, tuple[tuple[str, int], ...]], int] = {}
        group = [
            signature.setdefault(
                (group[state], tuple((label, group[target]) for label, target in leaving.items())),
                len(signature),
            )
            for state, leaving in enumerate(arcs)
        ]
    member = {group[state]: state for state in reversed(range(len(arcs)))}
    number = {group[0]: 0}
    waiting = deque([group[0]])
    source: list[int] = []
    target: list[int] = []
    word: list[str] = []
    while waiting:
        here = waiting.popleft()
        for label, reached in arcs[member[here]].items():
            there = group[reached]
            if there not in number:
                number[there] = len(number)
                waiting.append(there)
            source.append(number[here])
            target.append(number[there])
            word.append(label)
    ends = frozenset(number[group[state]] for state, yes in enumerate(final) if yes)
    return WordGraph(len(number), tuple(source), tuple(target), tuple(word), ends)


def continuations(automaton: Automaton, text: str, starts: Set[int]) -> Iterator[str] | None:
    """Words that can be said behind a text, as far as the next whole sentence; `AHEAD` of them at most.

    None where the text is not a sentence from one of the `starts` that can be said. A second command in the
    same breath is not among them: it leaves the first as it is.
    """
    states = starts
    for word in text.split():
        states = _after(automaton, states).get(word, frozenset())
    return _ahead(automaton, states) if _ends(automaton, states) else None


def _ahead(automaton: Automaton, states: Set[int]) -> Iterator[str]:
    """The same from states that a text leads to."""
    waiting: list[tuple[Set[int], str]] = [(states, "")]
    for _ in range(AHEAD):
        longer: list[tuple[Set[int], str]] = []
        for here, words in waiting:
            for word, target in _after(automaton, here, within=True).items():
                more = f"{words} {word}".strip()
                if _ends(automaton, target):
                    yield more
                else:
                    longer.append((target, more))
        waiting = longer


def _after(automaton: Automaton, states: Set[int], *, within: bool = False) -> dict[str, set[int]]:
    """Next words that can be said, with the states behind each; `within`: only those of the same command."""
    found: dict[str, set[int]] = {}
    for state in states:
        for arc in automaton.arcs[state]:
            if not arc.typed and not (within and THEN in arc.tags):
                found.setdefault(arc.label, set()).add(arc.target)
    return found


def _ends(automaton: Automaton, states: Set[int]) -> bool:
    return not automaton.final.keys().isdisjoint(states)
