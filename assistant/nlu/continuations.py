"""What can be said behind a sentence: how long to wait for more is decided by it."""

from collections.abc import Iterator, Set

from assistant.nlu.automaton import Automaton
from assistant.nlu.meaning import THEN

WORDS = 3
"""Words that are looked ahead."""


def continuations(automaton: Automaton, text: str, starts: Set[int]) -> Iterator[str] | None:
    """Words that can be said behind a text, as far as the next whole sentence; `WORDS` of them at most.

    None where the text is not a sentence from one of the `starts` that can be said. A second command in the
    same breath is not among them: it leaves the first as it is.
    """
    states = starts
    for word in text.split():
        states = _after(automaton, states).get(word, frozenset())
    return _ahead(automaton, states) if _final(automaton, states) else None


def _ahead(automaton: Automaton, states: Set[int]) -> Iterator[str]:
    waiting: list[tuple[Set[int], str]] = [(states, "")]
    for _ in range(WORDS):
        longer: list[tuple[Set[int], str]] = []
        for here, words in waiting:
            for word, target in _after(automaton, here, within=True).items():
                more = f"{words} {word}".strip()
                if _final(automaton, target):
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


def _final(automaton: Automaton, states: Set[int]) -> bool:
    return not automaton.final.keys().isdisjoint(states)
