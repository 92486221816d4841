"""Whether a sentence has two readings: decided on the automaton, without trying out sentences.

Two different paths over the same words are a path through pairs of states (the automaton's product with
itself) that leaves the diagonal at some word; the sentence has two readings when both can end, or when they
meet again.

Layers that are said at one time and told apart by nothing but their words, answers and commands, are checked
together. A slot is checked by itself: what it says goes before a command of the same words, and it is said
only while it is asked for.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product, takewhile

from assistant.errors import GrammarError
from assistant.nlu.automaton import Arc, Automaton
from assistant.nlu.construction import Place
from assistant.ports import Asking

TOGETHER = (Asking.ANSWER, Asking.NOTHING)
"""Layers whose sentences must differ."""


class TwoReadingsError(GrammarError):
    """A sentence has two readings."""

    def __init__(self, line: str, words: tuple[str, ...], rules: frozenset[str]) -> None:
        super().__init__(line)
        self.words = words
        """The sentence."""
        self.rules = rules
        """Rules that one of the readings goes through."""


@dataclass(frozen=True, slots=True)
class _Parted:
    """Two paths that have parted, over the same words."""

    one: Arc
    """Arc that the one path took last."""
    other: Arc
    """Arc that the other took."""
    before: "_Parted | int"
    """The words before; the state where they parted at this word, or a start where each left its own."""


def check_one_way(automaton: Automaton, file: str) -> None:
    """Raise GrammarError, with an example and the two rules, when a sentence has two derivations."""
    first = _first_words(automaton)
    # What is talk alone may have as many readings as it likes: it means nothing.
    for found in (twice for twice in automaton.twice if twice.state in first):
        raise _refusal(file, (*first[found.state], *found.rest), found.one, found.other)
    by_label = _ByLabel(automaton.arcs)
    final = automaton.final
    seen: set[tuple[int, int]] = set()
    waiting: deque[_Parted] = deque()

    def visit(one: Arc, other: Arc, before: _Parted | int) -> None:
        here, there = one.target, other.target
        if here == there or (here in final and there in final):
            raise _two_readings(automaton, file, first, _Parted(one, other, before))
        if (here, there) not in seen:
            seen.add((here, there))
            seen.add((there, here))
            waiting.append(_Parted(one, other, before))

    for state in first:
        if len({arc.label for arc in automaton.arcs[state]}) == len(automaton.arcs[state]):
            continue
        for same in by_label[state].values():
            for i, one in enumerate(same):
                for other in same[:i]:
                    visit(other, one, state)
    answers, commands = (automaton.start[layer] for layer in TOGETHER)
    for label, same in by_label[answers].items():
        for one, other in product(same, by_label[commands].get(label, ())):
            visit(one, other, answers)
    while waiting:
        pair = waiting.popleft()
        arcs, rivals = by_label[pair.one.target], by_label[pair.other.target]
        for label in arcs if len(arcs) < len(rivals) else rivals:
            for other in rivals.get(label, ()):
                for one in arcs.get(label, ()):
                    visit(one, other, pair)


class _ByLabel(dict[int, dict[str, list[Arc]]]):
    """Arcs of a state by their word, sorted out when they are first asked for: few states are."""

    def __init__(self, arcs: Sequence[Sequence[Arc]]) -> None:
        super().__init__()
        self._arcs = arcs

    def __missing__(self, state: int) -> dict[str, list[Arc]]:
        found = self[state] = {}
        for arc in self._arcs[state]:
            found.setdefault(arc.label, []).append(arc)
        return found


def _two_readings(
    automaton: Automaton, file: str, first: dict[int, tuple[str, ...]], last: _Parted
) -> GrammarError:
    """Error for two readings that end together or meet: their sentence, and where they first differ."""
    steps = [last]
    while isinstance(steps[-1].before, _Parted):
        steps.append(steps[-1].before)
    steps.reverse()
    one, other = next(
        ((step.one.place, step.other.place) for step in steps if step.one.place != step.other.place),
        (_shared(steps), _shared(steps)),
    )
    assert isinstance(steps[0].before, int)
    rest = _rest(automaton, last.one.target) if last.one.target == last.other.target else ()
    words = (*first[steps[0].before], *(step.one.label for step in steps), *rest)
    return _refusal(file, words, one, other)


def _shared(steps: list[_Parted]) -> Place:
    """The innermost rule that has all these words: for readings that go through the same lines."""
    places = [step.one.place for step in steps]
    same = takewhile(lambda level: len(set(level)) == 1, zip(*places, strict=False))
    return tuple(level[0] for level in same)


def _refusal(file: str, words: tuple[str, ...], one: Place, other: Place) -> TwoReadingsError:
    """What to say, with the innermost rules in which the two readings differ."""
    rules = frozenset(rule for rule, _ in (*one, *other))
    first, second = list(one or other), list(other or one)
    while first != second and len(first) > 1 and len(second) > 1 and first[-1] == second[-1]:
        first.pop()
        second.pop()
    (rule, line), (rival, rival_line) = sorted((first[-1], second[-1]), key=lambda place: place[1])
    return TwoReadingsError(
        f'{file}: "{" ".join(words)}" has two readings, by <{rule}> (line {line}) and by <{rival}>'
        f" (line {rival_line}); take one out or change its words.",
        words,
        rules,
    )


def _first_words(automaton: Automaton) -> dict[int, tuple[str, ...]]:
    """Shortest words that lead to each state from a start, nearest first."""
    words: dict[int, tuple[str, ...]] = dict.fromkeys(automaton.start.values(), ())
    waiting = deque(words)
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
