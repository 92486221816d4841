"""The sentence of the grammar that a typed line was meant for: a few words too many, too few or misspelled.

A cheapest-path search through the automaton, where a word of the line may be left out, a small word put in,
and a misspelled word replaced (Wagner and Fischer 1974, "The string-to-string correction problem"). Numbers
are never left out, put in or changed, and neither is a word beside a number: it may say what is counted. A
negation ends it all. What is found is only ever asked about.
"""

import heapq
import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from functools import cached_property

from assistant.nlu.automaton import Automaton
from assistant.nlu.construction import NUMBER
from assistant.nlu.tokens import Token

MOST = 1.7
"""What a line may cost to be mended; 1 is a word too many that has a meaning of its own."""
SMALL_WORD, STRANGE_WORD, KNOWN_WORD, MISSPELLED, PUT_IN = 0.3, 0.8, 1.2, 0.8, 0.6

SMALL = frozenset(
    """
    the a an of for to in on at it it's is that that's this these with my our your some just now please
    so we're i'm i've we've you can could would will and then there here up down out by me us as be been
    have has got get going go i we he she they do did does done really very quite bit little about maybe
    like well okay right yeah um er erm uh hey oh chef mate guys all still already again today let let's
    need want put note mark think from
    """.split()  # noqa: SIM905 - a list of words is read more easily so
)
"""Words that may be left out of a line without changing what it asks for."""
NEGATIONS = re.compile(r"no|not|never|dont|isnt|without|nothing|nobody|none|neither|hardly|.+n't")
"""Words that turn a sentence into its opposite."""
_PUT_IN = ("the", "a", "of", "for", "is", "to", "in", "it", "that")


class Nearest:
    """Mends typed lines by a grammar's automaton; `numbers`: the words that it counts with."""

    def __init__(self, automaton: Automaton, numbers: frozenset[str]) -> None:
        self._automaton = automaton
        self._numbers = numbers - SMALL | {"or"}

    def of(self, starts: Iterable[int], said: Sequence[Token]) -> str | None:
        """The cheapest sentence from these starts; None where a line is not near any, or says no."""
        if len(said) < 2 or any(NEGATIONS.fullmatch(token.text) for token in said):
            return None
        begin = tuple(starts)
        drops = [self._drop(said, place) for place in range(len(said))]
        spelled = [self._spellings(token) for token in said]
        arcs = self._arcs
        best: dict[tuple[int, int], float] = {(0, start): 0.0 for start in begin}
        heap: list[tuple[float, int, int, tuple[str, ...]]] = [(0.0, 0, start, ()) for start in begin]
        while heap:
            cost, place, state, words = heapq.heappop(heap)
            if cost > best[place, state]:
                continue
            if place == len(said) and state in self._automaton.final:
                return " ".join(words) if len(words) > 1 else None
            steps = [
                (cost + PUT_IN, place, target, word)
                for word in _PUT_IN
                for target in arcs[state].get(word, ())
            ]
            if place < len(said):
                steps.append((cost + drops[place], place + 1, state, ""))
                for label, extra in spelled[place]:
                    word = said[place].text if extra == 0 else label
                    steps += [
                        (cost + extra, place + 1, target, word) for target in arcs[state].get(label, ())
                    ]
            for after, position, target, word in steps:
                if after <= MOST and after < best.get((position, target), float("inf")):
                    best[position, target] = after
                    heapq.heappush(heap, (after, position, target, (*words, word) if word else words))
        return None

    def _drop(self, said: Sequence[Token], place: int) -> float:
        """What it costs to leave a word out."""
        token = said[place]
        if self._is_number(token):
            return float("inf")
        if token.label in SMALL:
            return SMALL_WORD
        if any(self._is_number(said[beside]) for beside in (place - 1, place + 1) if 0 <= beside < len(said)):
            return float("inf")
        return KNOWN_WORD if token.label in self._labels else STRANGE_WORD

    def _spellings(self, token: Token) -> list[tuple[str, float]]:
        """Labels that a word may stand for, with their cost."""
        if token.label in self._labels or len(token.label) < 4 or self._is_number(token):
            return [(token.label, 0.0)]
        return [(near, MISSPELLED) for near in get_close_matches(token.label, self._sayable, 2, 0.75)]

    def _is_number(self, token: Token) -> bool:
        return token.label == NUMBER or token.label in self._numbers

    @cached_property
    def _arcs(self) -> list[dict[str, list[int]]]:
        found: list[dict[str, list[int]]] = []
        for leaving in self._automaton.arcs:
            by_label: dict[str, list[int]] = {}
            for arc in leaving:
                by_label.setdefault(arc.label, []).append(arc.target)
            found.append(by_label)
        return found

    @cached_property
    def _labels(self) -> frozenset[str]:
        return frozenset(arc.label for leaving in self._automaton.arcs for arc in leaving)

    @cached_property
    def _sayable(self) -> list[str]:
        return sorted({arc.label for leaving in self._automaton.arcs for arc in leaving if not arc.typed})
