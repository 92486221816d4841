"""Rules -> an automaton over words with empty moves (Thompson's construction).

A rule is copied wherever it is used. What is typed on a keyboard and can't be said is a move too, marked
`typed`.
"""

from typing import NamedTuple

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

NUMBER = "#"
"""Label of a number typed in digits, where it is not a single digit (those are labels of their own)."""
DIGITS = "0123456789"
TYPED = "typed "
"""`<VOID> {typed kg}`: what may be typed in this place; `<VOID> {typed #}`: a number in digits."""

LARGEST = 60_000
"""States of the construction at most: some three times those of the grammar that ships."""
MOST_MOVES = 400_000
"""Moves over a word at most, likewise."""

Place = tuple[tuple[str, int], ...]
"""Where something is in the file: rules and lines, from the public rule down."""


class Move(NamedTuple):
    """A step over one word, or an empty one."""

    target: int
    """The state after it."""
    label: str | None
    """The word; None: an empty move."""
    tag: str | None
    typed: bool
    """Whether it can only be typed, not said."""
    place: Place


class Construction:
    """Thompson's construction: an expansion between two states.

    No move enters its first or leaves its last.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.moves: list[list[Move]] = []
        self._words = 0
        self._open: set[str] = set()
        self._built: dict[tuple[str, int], int] = {}

    def state(self) -> int:
        """A new state."""
        if len(self.moves) == LARGEST:
            raise too_large(self.source, f"{LARGEST} states")
        self.moves.append([])
        return len(self.moves) - 1

    def join(self, first: int, last: int, place: Place, tag: str | None = None) -> None:
        """An empty move, with a tag or without."""
        self.moves[first].append(Move(last, None, tag, typed=False, place=place))

    def rule(self, name: str, first: int, last: int, place: Place) -> None:
        """A rule between two states: where it was already built up to the same end, that is used again."""
        if name == NULL:
            self.join(first, last, place)
        elif name != VOID:
            self.join(first, self._start(name, last, place), place)

    def _entry(self, item: Expansion, last: int, rule: str, via: Place) -> int | None:
        """The state from which an item leads to `last`, where it is a rule; else None."""
        if isinstance(item, Reference) and item.rule not in (NULL, VOID):
            return self._start(item.rule, last, (*via, (rule, item.line)))
        return None

    def _start(self, name: str, last: int, place: Place) -> int:
        """First state of a rule that leads to `last`."""
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
        return entry

    def expand(self, item: Expansion, first: int, last: int, rule: str, via: Place) -> None:
        """Put an expansion of a rule between two states.

        `via`: the places from the public rule down to it.
        """
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
                # From the last item to the first: where the last is a rule that was built already, what comes
                # before it ends right there, and is shared with all that goes on the same way.
                for part in reversed(items[1:]):
                    entry = self._entry(part, last, rule, via)
                    if entry is None:
                        entry = self.state()
                        self.expand(part, entry, last, rule, via)
                    last = entry
                self.expand(items[0], first, last, rule, via)
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
        if self._words == MOST_MOVES:
            raise too_large(self.source, f"{MOST_MOVES} words")
        self._words += 1
        self.moves[first].append(Move(last, label, tag, typed, place))

    def _typed(self, label: str, first: int, last: int, place: Place) -> None:
        if label != NUMBER:
            self._word(first, last, label, place, typed=True)
            return
        for sign in (NUMBER, *DIGITS):
            self._word(first, last, sign, place, TYPED + NUMBER, typed=True)


def too_large(source: Source, what: str) -> GrammarError:
    """A grammar that would take all memory."""
    return GrammarError(
        f"{source.file}: the rules grow beyond {what} when each is copied to its uses;"
        " use * or + to repeat, and nest fewer rules."
    )


def _line(item: Expansion) -> int:
    """Line where an expansion begins."""
    while not isinstance(item, Word | Reference | Tagged):
        item = item.items[0] if isinstance(item, Sequence | Alternatives) else item.item
    return item.line
