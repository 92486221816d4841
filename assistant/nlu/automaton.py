"""Rules -> a tagged automaton over words, without empty moves.

A rule is copied wherever it is used (Thompson's construction), then the empty moves are taken out: the tags that
stand on them go to the next word. What a keyboard gives and nobody can say is an arc too, marked `typed`.
"""

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from assistant.errors import GrammarError
from assistant.nlu.syntax import (
    NULL,
    VOID,
    Alternatives,
    Expansion,
    Optional,
    Reference,
    Repeat,
    Sequence,
    Source,
    Tagged,
    Word,
)
from assistant.ports import Asking

NUMBER = "#"
"""Label of a number typed in digits, where it is not a single digit (those are labels of their own)."""
DIGITS = "0123456789"
TYPED = "typed "
"""`<VOID> {typed kg}`: what a keyboard gives in this place; `<VOID> {typed #}`: a number in digits."""

LARGEST = 30_000
"""States of the construction at most: a dozen times the kitchen's own grammar."""

Place = tuple[tuple[str, int], ...]
"""Where something stands: rules and lines, from the public rule down."""


@dataclass(frozen=True, slots=True)
class Arc:
    """One word: what it is, the tags passed on the way through it, and the state behind it."""

    label: str
    tags: tuple[str, ...]
    target: int
    typed: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Twice:
    """Two ways without a word lead from a state to the same point: all that follows can be read in two ways.

    `rest` is a shortest way to end from there.
    """

    state: int
    rest: tuple[str, ...]
    one: Place
    other: Place


@dataclass(frozen=True, slots=True)
class Automaton:
    """States are 0..n-1.

    Every state can be reached from 0, the start while a weight is asked for, and can end.
    """

    arcs: tuple[tuple[Arc, ...], ...]
    """Arcs that leave each state."""
    final: dict[int, tuple[str, ...]]
    """Final state -> the tags passed between the last word and the end."""
    start: dict[Asking, int]
    """Start state of what may be said."""
    twice: tuple[Twice, ...]
    """Empty moves that meet again: readings that no word tells apart."""


@dataclass(frozen=True, slots=True)
class _Move:
    """A move of the construction: over a word, or empty (label None), maybe with a tag."""

    target: int
    label: str | None
    tag: str | None
    typed: bool
    place: Place


def build(source: Source, rules: Mapping[Asking, Iterable[str]]) -> Automaton:
    """Automaton of the public rules; `rules`: from which asking on the sentences of a rule may be said.

    Raises GrammarError.
    """
    construction = _Construction(source)
    # The start that allows most comes first: its state is 0, and each leads on to the next.
    starts = {asking: construction.state() for asking in reversed(Asking)}
    end = construction.state()
    for wider, narrower in pairwise(starts.values()):
        construction.join(wider, narrower, ())
    for asking in Asking:
        for name in rules.get(asking, ()):
            construction.rule(name, starts[asking], end, ())
    moves = construction.moves
    alive = _alive(moves, end)
    if starts[Asking.NOTHING] not in alive:
        raise GrammarError(
            f"{source.file}: no sentence can be said; every public rule leads to <VOID> or never ends."
        )
    automaton = _without_empty_moves(moves, alive, starts, end)
    if 0 in automaton.final:
        raise GrammarError(
            f"{source.file}: a public rule can be met by saying nothing; make one of its words a must."
        )
    return automaton


class _Construction:
    """Thompson's construction: an expansion between two states; no move enters its first or leaves its last."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.moves: list[list[_Move]] = []
        self._open: set[str] = set()
        self._built: dict[tuple[str, int], int] = {}

    def state(self) -> int:
        if len(self.moves) == LARGEST:
            raise GrammarError(
                f"{self.source.file}: the rules grow beyond {LARGEST} states when each is put where it is used;"
                " use * or + to repeat, and nest fewer rules."
            )
        self.moves.append([])
        return len(self.moves) - 1

    def join(self, first: int, last: int, place: Place, tag: str | None = None) -> None:
        self.moves[first].append(_Move(last, None, tag, typed=False, place=place))

    def rule(self, name: str, first: int, last: int, place: Place) -> None:
        """A rule between two states: where it was already built up to the same end, that is used again."""
        if name == NULL:
            self.join(first, last, place)
            return
        if name == VOID:
            return
        entry = self._built.get((name, last))
        if entry is None and name in self._open:
            rule, line = place[-1]
            raise self.source.error(
                line,
                f"<{rule}> comes back to <{name}> before its end; a rule may return to itself only as its"
                " very last item: use * or + to repeat.",
            )
        if entry is None:
            entry = self._built[name, last] = self.state()
            self._open.add(name)
            self.expand(self.source.rules[name].body, entry, last, name, place)
            self._open.discard(name)
        self.join(first, entry, place)

    def expand(self, item: Expansion, first: int, last: int, rule: str, via: Place) -> None:
        match item:
            case Word(text, line):
                self._word(first, last, text, (*via, (rule, line)))
            case Reference(name, line):
                self.rule(name, first, last, (*via, (rule, line)))
            case Tagged(Reference("VOID"), tag, line) if tag.startswith(TYPED):
                self._typed(tag.removeprefix(TYPED).strip().casefold(), first, last, (*via, (rule, line)))
            case Tagged(inner, tag, line):
                middle = self.state()
                self.expand(inner, first, middle, rule, via)
                self.join(middle, last, (*via, (rule, line)), tag)
            case Sequence(items):
                for part in items[:-1]:
                    middle = self.state()
                    self.expand(part, first, middle, rule, via)
                    first = middle
                self.expand(items[-1], first, last, rule, via)
            case Alternatives(items):
                for part in items:
                    self.expand(part, first, last, rule, via)
            case Optional(inner):
                self.expand(inner, first, last, rule, via)
                self.join(first, last, (*via, (rule, _line(inner))))
            case Repeat(inner, least):
                place = (*via, (rule, _line(inner)))
                before, behind = self.state(), self.state()
                self.join(first, before, place)
                self.expand(inner, before, behind, rule, via)
                self.join(behind, before, place)
                self.join(behind, last, place)
                if not least:
                    self.join(first, last, place)

    def _word(
        self, first: int, last: int, label: str, place: Place, tag: str | None = None, *, typed: bool = False
    ) -> None:
        self.moves[first].append(_Move(last, label, tag, typed, place))

    def _typed(self, label: str, first: int, last: int, place: Place) -> None:
        if label != NUMBER:
            self._word(first, last, label, place, typed=True)
            return
        for sign in (NUMBER, *DIGITS):
            self._word(first, last, sign, place, TYPED + NUMBER, typed=True)


def _line(item: Expansion) -> int:
    """Line where an expansion begins."""
    while not isinstance(item, Word | Reference | Tagged):
        item = item.items[0] if isinstance(item, Sequence | Alternatives) else item.item
    return item.line


def _alive(moves: list[list[_Move]], end: int) -> set[int]:
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
    moves: list[list[_Move]], alive: set[int], starts: Mapping[Asking, int], end: int
) -> Automaton:
    number = {state: place for place, state in enumerate(starts.values())}
    waiting = deque(number)
    arcs: list[tuple[Arc, ...]] = []
    final: dict[int, tuple[str, ...]] = {}
    twice: list[Twice] = []
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
            for move in reversed(moves[state]):
                if move.target not in alive:
                    continue
                if move.label is None:
                    passed = tags if move.tag is None else (*tags, move.tag)
                    stack.append((move.target, passed, move.place))
                    continue
                if move.target not in number:
                    number[move.target] = len(number)
                    waiting.append(move.target)
                own = tags if move.tag is None else (*tags, move.tag)
                found.append(Arc(move.label, own, number[move.target], move.typed, move.place))
        arcs.append(tuple(reversed(found)))
    start = {asking: number[state] for asking, state in starts.items()}
    return Automaton(tuple(arcs), final, start, tuple(twice))


def _rest(moves: list[list[_Move]], begin: int, end: int) -> tuple[str, ...]:
    """Words of a shortest way from a state of the construction to its end."""
    words: dict[int, tuple[str, ...]] = {begin: ()}
    waiting = deque([begin])
    while end not in words:
        state = waiting.popleft()
        for move in moves[state]:
            if move.target not in words:
                words[move.target] = words[state] if move.label is None else (*words[state], move.label)
                waiting.append(move.target)
    return words[end]
