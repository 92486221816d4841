"""Whether a sentence can be read in two ways: decided on the automaton itself, no sentence is tried out.

Two different ways through the same words are a way through pairs of states (the automaton's product with itself)
that leaves the diagonal at some word; the sentence has two readings when both can end, or when they meet again.
"""

from collections import deque
from dataclasses import dataclass

from assistant.errors import GrammarError
from assistant.nlu.automaton import Arc, Automaton, Place


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two ways that have parted: the states they are in now, the words so far, and their steps since parting."""

    one: int
    other: int
    words: tuple[str, ...]
    steps: tuple[tuple[Arc, Arc], ...]


def check_one_way(automaton: Automaton, file: str) -> None:
    """Raise GrammarError, with an example and the two rules, when a sentence has two derivations."""
    first = _first_words(automaton)
    if automaton.twice:
        found = automaton.twice[0]
        _refuse(file, (*first[found.state], *found.rest), found.one, found.other)
    waiting: deque[_Pair] = deque()
    seen: set[tuple[int, int]] = set()
    for state in first:
        arcs = automaton.arcs[state]
        by_label: dict[str, list[Arc]] = {}
        for arc in arcs:
            by_label.setdefault(arc.label, []).append(arc)
        for label, same in by_label.items():
            for i, arc in enumerate(same):
                for rival in same[i + 1 :]:
                    _step(automaton, file, _Pair(state, state, first[state], ()), arc, rival, waiting, seen)
    while waiting:
        pair = waiting.popleft()
        rivals: dict[str, list[Arc]] = {}
        for rival in automaton.arcs[pair.other]:
            rivals.setdefault(rival.label, []).append(rival)
        for arc in automaton.arcs[pair.one]:
            for rival in rivals.get(arc.label, ()):
                _step(automaton, file, pair, arc, rival, waiting, seen)


def _step(
    automaton: Automaton,
    file: str,
    pair: _Pair,
    arc: Arc,
    rival: Arc,
    waiting: deque[_Pair],
    seen: set[tuple[int, int]],
) -> None:
    words, steps = (*pair.words, arc.label), (*pair.steps, (arc, rival))
    if arc.target == rival.target or (arc.target in automaton.final and rival.target in automaton.final):
        rest = _rest(automaton, arc.target) if arc.target == rival.target else ()
        one, other = next(
            ((a.place, b.place) for a, b in steps if a.place != b.place), (arc.place, rival.place)
        )
        _refuse(file, words + rest, one, other)
    key = (min(arc.target, rival.target), max(arc.target, rival.target))
    if key not in seen:
        seen.add(key)
        waiting.append(_Pair(arc.target, rival.target, words, steps))


def _refuse(file: str, words: tuple[str, ...], one: Place, other: Place) -> None:
    """Say so, with the innermost rules in which the two readings differ."""
    ours, theirs = list(one), list(other)
    while len(ours) > 1 and len(theirs) > 1 and ours[-1] == theirs[-1]:
        ours.pop()
        theirs.pop()
    (rule, line), (rival, rival_line) = (ours or theirs)[-1], (theirs or ours)[-1]
    raise GrammarError(
        f'{file}: "{" ".join(words)}" can be read in two ways, by <{rule}> (line {line}) and by <{rival}>'
        f" (line {rival_line}); take one out or change its words."
    )


def _first_words(automaton: Automaton) -> dict[int, tuple[str, ...]]:
    """Shortest words that lead to each state, nearest first."""
    words: dict[int, tuple[str, ...]] = {0: ()}
    waiting = deque([0])
    while waiting:
        state = waiting.popleft()
        for arc in automaton.arcs[state]:
            if arc.target not in words:
                words[arc.target] = (*words[state], arc.label)
                waiting.append(arc.target)
    return words


def _rest(automaton: Automaton, begin: int) -> tuple[str, ...]:
    """Shortest words from a state to an end."""
    words: dict[int, tuple[str, ...]] = {begin: ()}
    waiting = deque([begin])
    while True:
        state = waiting.popleft()
        if state in automaton.final:
            return words[state]
        for arc in automaton.arcs[state]:
            if arc.target not in words:
                words[arc.target] = (*words[state], arc.label)
                waiting.append(arc.target)
