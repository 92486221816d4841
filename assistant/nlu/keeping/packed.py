"""A compiled grammar and its word graphs as bytes, and back. Pure.

Unpacking raises ValueError for what can't have been packed here: nothing that is read leads out of its lists.
"""

import sys
from array import array
from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise, repeat
from typing import TypeVar

import msgspec

from assistant.nlu.automaton import Arc, Automaton
from assistant.ports import Asking, WordGraph

Item = TypeVar("Item")


class PackedGraph(msgspec.Struct, array_like=True, frozen=True):
    """A `WordGraph`."""

    n_states: int
    source: bytes
    target: bytes
    word: bytes
    """Places in `words`."""
    words: list[str]
    final: bytes
    asked_start: int


class PackedAutomaton(msgspec.Struct, array_like=True, frozen=True):
    """An `Automaton` that was checked: without the places that only a message about a mistake would name."""

    leaving: bytes
    """Number of arcs of each state."""
    label: bytes
    """Of each arc, its place in `labels`; so for its tags."""
    tags: bytes
    target: bytes
    typed: bytes
    labels: list[str]
    tag_runs: list[tuple[str, ...]]
    final: bytes
    final_tags: bytes
    start: dict[str, int]
    talk: int


def pack_graph(graph: WordGraph) -> bytes:
    """A word graph as bytes."""
    words = list(dict.fromkeys(graph.word))
    place = {word: at for at, word in enumerate(words)}
    return msgspec.msgpack.encode(
        PackedGraph(
            graph.n_states,
            _bytes(graph.source),
            _bytes(graph.target),
            _bytes(place[word] for word in graph.word),
            words,
            _bytes(sorted(graph.final)),
            graph.asked_start,
        )
    )


def unpack_graph(data: bytes) -> WordGraph:
    """The word graph of these bytes. Raises ValueError."""
    found = _decoded(data, PackedGraph)
    states = range(found.n_states)
    source, target = _numbers(found.source, states), _numbers(found.target, states)
    word = _picked(found.words, _numbers(found.word, range(len(found.words))))
    if not len(source) == len(target) == len(word) or found.asked_start not in states:
        raise ValueError("arcs of unequal number")
    final = frozenset(_numbers(found.final, states))
    return WordGraph(found.n_states, tuple(source), tuple(target), tuple(word), final, found.asked_start)


def pack_automaton(automaton: Automaton) -> PackedAutomaton:
    """An automaton as numbers and words."""
    arcs = [arc for leaving in automaton.arcs for arc in leaving]
    labels = {label: at for at, label in enumerate(dict.fromkeys(arc.label for arc in arcs))}
    runs = dict.fromkeys([*(arc.tags for arc in arcs), *automaton.final.values()])
    tags = {run: at for at, run in enumerate(runs)}
    return PackedAutomaton(
        _bytes(len(leaving) for leaving in automaton.arcs),
        _bytes(labels[arc.label] for arc in arcs),
        _bytes(tags[arc.tags] for arc in arcs),
        _bytes(arc.target for arc in arcs),
        bytes(arc.typed for arc in arcs),
        list(labels),
        list(tags),
        _bytes(automaton.final),
        _bytes(tags[run] for run in automaton.final.values()),
        {asking.name: state for asking, state in automaton.start.items()},
        automaton.talk,
    )


def unpack_automaton(found: PackedAutomaton) -> Automaton:
    """The automaton of these numbers and words. Raises ValueError."""
    leaving = _numbers(found.leaving, range(len(found.label) + 1))
    states, runs = range(len(leaving)), range(len(found.tag_runs))
    label = _picked(found.labels, _numbers(found.label, range(len(found.labels))))
    tags = _picked(found.tag_runs, _numbers(found.tags, runs))
    target = _numbers(found.target, states)
    if not sum(leaving) == len(label) == len(tags) == len(target) == len(found.typed):
        raise ValueError("arcs of unequal number")
    arcs = list(map(Arc._make, zip(label, tags, target, map(bool, found.typed), repeat(()))))
    final, final_tags = _numbers(found.final, states), _numbers(found.final_tags, runs)
    if set(found.start) != {asking.name for asking in Asking} or len(final) != len(final_tags):
        raise ValueError("layers of another program")
    if not all(state in states for state in (*found.start.values(), found.talk)):
        raise ValueError("a start that is no state")
    return Automaton(
        tuple(tuple(arcs[begin:end]) for begin, end in pairwise(accumulate(leaving, initial=0))),
        dict(zip(final, _picked(found.tag_runs, final_tags), strict=True)),
        {Asking[name]: state for name, state in found.start.items()},
        found.talk,
        (),
    )


def _decoded(data: bytes, kind: type[Item]) -> Item:
    try:
        return msgspec.msgpack.decode(data, type=kind)
    except msgspec.DecodeError as error:
        raise ValueError(str(error)) from error


def _bytes(numbers: Iterable[int]) -> bytes:
    """Numbers of 32 bits each, the lowest byte first."""
    return _little(array("I", numbers)).tobytes()


def _numbers(raw: bytes, within: range) -> "array[int]":
    """The numbers again. Raises ValueError where one is not `within`, which begins at 0."""
    found = array("I")
    found.frombytes(raw)
    if len(found) and max(_little(found)) not in within:
        raise ValueError("a number that leads nowhere")
    return found


def _little(numbers: "array[int]") -> "array[int]":
    if numbers.itemsize != 4:
        raise ValueError("this machine has no numbers of 32 bits")
    if sys.byteorder == "big":
        numbers.byteswap()
    return numbers


def _picked(items: Sequence[Item], places: Iterable[int]) -> list[Item]:
    return list(map(items.__getitem__, places))
