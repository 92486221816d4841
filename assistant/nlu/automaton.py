"""Rules -> a tagged automaton over words, without empty moves.

A rule is copied wherever it is used (Thompson's construction), then the empty moves are taken out: their tags
go to the next word. What is typed on a keyboard and can't be said is an arc too, marked `typed`.
"""

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from assistant.errors import GrammarError
from assistant.nlu.construction import Construction, Move, Place, too_large
from assistant.nlu.syntax import Source
from assistant.ports import Asking


class Arc(NamedTuple):
    """A step over one word. A tuple, for there are some two hundred thousand of them."""

    label: str
    """The word, or `NUMBER` for a number in digits."""
    tags: tuple[str, ...]
    """Tags passed on the way through it."""
    target: int
    """The state after it."""
    typed: bool
    """Whether it can only be typed, not said."""
    place: Place


LARGEST = 1_000_000
"""Arcs of an automaton at most: some three times those of the grammar that ships."""


@dataclass(frozen=True, slots=True)
class Twice:
    """Two paths of empty moves lead from a state to the same point: all that follows has two readings."""

    state: int
    rest: tuple[str, ...]
    """Words of a shortest path from there to an end."""
    one: Place
    other: Place


@dataclass(frozen=True, slots=True)
class Automaton:
    """States are 0..n-1.

    Every state can be reached from a start, and all but a start without sentences can end.
    """

    arcs: tuple[tuple[Arc, ...], ...]
    """Arcs that leave each state."""
    final: dict[int, tuple[str, ...]]
    """Final state -> the tags passed between the last word and the end."""
    start: dict[Asking, int]
    """Start state of what each layer adds to what may be said; no move enters one."""
    talk: int
    """Start state of what is heard and means nothing; no move enters it."""
    twice: tuple[Twice, ...]
    """Empty moves that meet again: two readings of the same words."""
    _by_label: dict[int, dict[str, list[Arc]]] = field(default_factory=dict, compare=False, repr=False)

    def leaving(self, state: int, label: str) -> Sequence[Arc]:
        """Arcs with a label that leave a state. Some states have a thousand arcs: each is sorted once."""
        by_label = self._by_label.get(state)
        if by_label is None:
            by_label = self._by_label[state] = {}
            for arc in self.arcs[state]:
                by_label.setdefault(arc.label, []).append(arc)
        return by_label.get(label, ())


def build(source: Source, rules: Mapping[Asking, Iterable[str]], talk: Iterable[str] = ()) -> Automaton:
    """Automaton of the public rules: `rules`, those of each layer of what may be said, and `talk`.

    Raises GrammarError.
    """
    construction = Construction(source)
    starts = {asking: construction.state() for asking in Asking}
    of_talk, end = construction.state(), construction.state()
    for asking in Asking:
        for name in rules.get(asking, ()):
            construction.rule(name, starts[asking], end, ())
    for name in talk:
        construction.rule(name, of_talk, end, ())
    moves = construction.moves
    alive = _alive(moves, end)
    if starts[Asking.NOTHING] not in alive:
        raise GrammarError(
            f"{source.file}: no sentence can be said; every public rule leads to <VOID> or never ends."
        )
    automaton = _without_empty_moves(source, moves, alive, (starts, of_talk), end)
    if not automaton.final.keys().isdisjoint([*automaton.start.values(), automaton.talk]):
        raise GrammarError(
            f"{source.file}: a public rule can be met by saying nothing; make one of its words required."
        )
    return automaton


def _alive(moves: list[list[Move]], end: int) -> set[int]:
    """States from which the end can be reached."""
    back: dict[int, list[int]] = {}
    for state, leaving in enumerate(moves):
        for move in leaving:
            back.setdefault(move.target, []).append(state)
    alive, waiting = {end}, [end]
    while waiting:
        for state in back.get(waiting.pop(), ()):
            if state not in alive:
                alive.add(state)
                waiting.append(state)
    return alive


def _without_empty_moves(
    source: Source,
    moves: list[list[Move]],
    alive: set[int],
    begins: tuple[Mapping[Asking, int], int],
    end: int,
) -> Automaton:
    starts, of_talk = begins
    number = {state: place for place, state in enumerate([*starts.values(), of_talk])}
    waiting = deque(number)
    arcs: list[tuple[Arc, ...]] = []
    final: dict[int, tuple[str, ...]] = {}
    twice: list[Twice] = []
    room = LARGEST
    backwards = [[move for move in reversed(leaving) if move.target in alive] for leaving in moves]
    while waiting:
        origin = waiting.popleft()
        found: list[Arc] = []
        came: dict[int, Place] = {}
        stack: list[tuple[int, tuple[str, ...], Place]] = [(origin, (), ())]
        while stack:
            state, tags, place = stack.pop()
            if state in came:
                twice.append(Twice(number[origin], _rest(moves, state, end), came[state], place))
                continue
            came[state] = place
            if state == end:
                final[number[origin]] = tags
            for move in backwards[state]:
                target, label, tag, typed, at = move
                own = tags if tag is None else (*tags, tag)
                if label is None:
                    stack.append((target, own, at))
                    continue
                if target not in number:
                    number[target] = len(number)
                    waiting.append(target)
                found.append(Arc(label, own, number[target], typed, at))
        room -= len(found)
        if room < 0:
            raise too_large(source, f"{LARGEST} arcs")
        arcs.append(tuple(reversed(found)))
    start = {asking: number[state] for asking, state in starts.items()}
    return Automaton(tuple(arcs), final, start, number[of_talk], tuple(twice))


def _rest(moves: list[list[Move]], begin: int, end: int) -> tuple[str, ...]:
    """Words of a shortest path from a state of the construction to its end."""
    words: dict[int, tuple[str, ...]] = {begin: ()}
    waiting = deque([begin])
    while end not in words:
        state = waiting.popleft()
        for move in moves[state]:
            if move.target not in words:
                words[move.target] = words[state] if move.label is None else (*words[state], move.label)
                waiting.append(move.target)
    return words[end]
