"""The sentence of the grammar that a typed line was meant for: a few words too many, too few or misspelled.

A cheapest-path search through the automaton, where a word of the line may be left out, a small word put in,
and a misspelled word replaced (Wagner and Fischer 1974, "The string-to-string correction problem"). Numbers
are never left out, put in or changed, and neither is a word beside a number: it may say what is counted. A
negation ends it all. What people say around a sentence, such as why or what else happened, may be left out
as a whole: before it, or behind it where a clause begins. What is found is only ever asked about.
"""

import heapq
import re
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from functools import cached_property

from assistant.nlu.automaton import Automaton
from assistant.nlu.construction import NUMBER
from assistant.nlu.tokens import Token

MOST = 1.7
"""What a line may cost to be mended; 1 is a word too many that has a meaning of its own."""
SMALL_WORD, STRANGE_WORD, KNOWN_WORD, MISSPELLED, PUT_IN = 0.3, 0.8, 1.2, 0.8, 0.6
CLAUSE, ITS_WORD = 1.2, 0.02
"""What it costs to leave out all that is said before a sentence, or a clause behind it; and for each word."""
LONGEST_CLAUSE = 9

SMALL = frozenset(
    """
    the a an of for to in on at it it's is that that's this these with my our your some just now please
    so we're i'm i've we've you can could would will and then there here up by me us as be been
    have has got get going go i we he she they do did does done really very quite bit little about maybe
    like well okay right yeah um er erm uh hey oh chef mate guys all still already again today let let's
    need want put note mark think
    """.split()  # noqa: SIM905 - a list of words is read more easily so
)
"""Words that may be left out of a line without changing what it asks for."""
NEGATIONS = re.compile(r"no|not|never|dont|isnt|without|nothing|nobody|none|neither|hardly|.+n't")
"""Words that turn a sentence into its opposite."""
_PUT_IN = ("the", "a", "of", "for", "is", "to", "in", "it")
_CLAUSES = frozenset(
    """
    i i'm i've we we're it it's that that's he she they there there's because cause but just you this
    """.split()  # noqa: SIM905
)
"""Words that a clause begins with."""
_TURNING = frozenset("if unless until till when once before after whether should why how who".split())  # noqa: SIM905
"""Words that make of what follows them what is not so, or not yet."""
UNREAL = _TURNING | frozenset(
    """
    did has had was were wanted might tried thought imagine
    """.split()  # noqa: SIM905
)
"""Words that make of a sentence what is not so, or not yet: none of them is left out."""
_GOES_ON = frozenset(
    """
    to the a an of for with at on from in and or but my our your i we you he she they it that this these
    is are was were be been am do does did can could would will may might must has have had as than so
    very too more about some
    """.split()  # noqa: SIM905
)
"""Words that no clause ends with: what follows belongs to it."""
LEAST_LED_IN, TURNS_WITHIN = 2, 3
"""Words of a clause that leads a sentence in, at least; and how far before the sentence a word turns it."""
_ASKING = frozenset("is are do does have am".split())  # noqa: SIM905
"""Words that make a question where a sentence begins with them."""
_COUNTING = frozenset("a about another around plus roughly say some".split())  # noqa: SIM905
"""Words before a number that don't say what it counts."""
_WHAT_OF = frozenset("of to for at with on from over".split())  # noqa: SIM905
"""Words before what an amount is of, or goes to."""


def units_of(automaton: Automaton) -> frozenset[str]:
    """Words of units: their tag stands behind them. What is beside one is what it measures."""
    arcs, final = automaton.arcs, automaton.final
    behind = [
        any(
            tags and tags[0].startswith("unit=")
            for tags in (final.get(state, ()), *(arc.tags for arc in leaving))
        )
        for state, leaving in enumerate(arcs)
    ]
    return frozenset(arc.label for leaving in arcs for arc in leaving if behind[arc.target])


class Nearest:
    """Mends typed lines by a grammar's automaton; `numbers`: the words that it counts with, and of units."""

    def __init__(self, automaton: Automaton, numbers: frozenset[str]) -> None:
        self._automaton = automaton
        self._numbers = numbers - SMALL | {"or"}

    def of(self, starts: Iterable[int], said: Sequence[Token]) -> tuple[float, str] | None:
        """The cheapest sentence from these starts with its cost, else the one that the line ends with."""
        begin = tuple(starts)
        at_the_end = self._at_the_end(begin, said)
        return self._mended(begin, said) or (None if at_the_end is None else (MOST, at_the_end))

    def _at_the_end(self, starts: Sequence[int], said: Sequence[Token]) -> str | None:
        """The longest sentence behind a clause that was not foreseen: "it's hot in here, stop the mix"."""
        for place in range(LEAST_LED_IN, len(said) - 1):
            led_in, rest = said[:place], said[place:]
            if led_in[-1].label in _GOES_ON or any(self._turns(token) for token in led_in[-TURNS_WITHIN:]):
                continue
            if self._accepts(starts, rest):
                return " ".join(token.text for token in rest)
        return None

    def _turns(self, token: Token) -> bool:
        """Whether a word turns what stands behind it, or leaves a number behind that belongs to it."""
        label = token.label
        return bool(NEGATIONS.fullmatch(token.text)) or label in _TURNING or self._is_number(token)

    def _accepts(self, starts: Iterable[int], said: Sequence[Token]) -> bool:
        states = set(starts)
        for token in said:
            states = {target for state in states for target in self._targets(state, token.label)}
        return not states.isdisjoint(self._automaton.final)

    def _mended(self, begin: Sequence[int], said: Sequence[Token]) -> tuple[float, str] | None:
        """The cheapest sentence; None where a line is not near any, or says no."""
        if len(said) < 2 or any(NEGATIONS.fullmatch(token.text) for token in said):
            return None
        drops = [self._drop(said, place) for place in range(len(said))]
        spelled = [self._spellings(token) for token in said]
        targets = self._targets
        best: dict[tuple[int, int], float] = {(0, start): 0.0 for start in begin}
        heap: list[tuple[float, int, int, tuple[str, ...]]] = [(0.0, 0, start, ()) for start in begin]
        while heap:
            cost, place, state, words = heapq.heappop(heap)
            if cost > best[place, state]:
                continue
            if place == len(said) and state in self._automaton.final:
                return (cost, " ".join(words)) if len(words) > 1 else None
            steps = [
                (cost + PUT_IN, place, target, word) for word in _PUT_IN for target in targets(state, word)
            ]
            if place < len(said):
                steps.append((cost + drops[place], place + 1, state, ""))
                steps += [
                    (cost + extra, position, state, "")
                    for position, extra in self._clauses(said, place, state, words)
                ]
                for label, extra in spelled[place]:
                    word = said[place].text if extra == 0 else label
                    steps += [(cost + extra, place + 1, target, word) for target in targets(state, label)]
            for after, position, target, word in steps:
                if after <= MOST and after < best.get((position, target), float("inf")):
                    best[position, target] = after
                    heapq.heappush(heap, (after, position, target, (*words, word) if word else words))
        return None

    def _clauses(
        self, said: Sequence[Token], place: int, state: int, words: tuple[str, ...]
    ) -> Iterator[tuple[int, float]]:
        """Where it goes on when what is said around a sentence is left out here, and at what cost."""
        ends = state in self._automaton.final
        if place == 0 and not words:
            positions = range(2, min(LONGEST_CLAUSE, len(said) - 2) + 1)
        elif ends and said[place].label in _CLAUSES and len(said) - place <= LONGEST_CLAUSE:
            positions = range(len(said), len(said) + 1)
        else:
            return
        for position in positions:
            left_out = said[place:position]
            if any(token.label in UNREAL or self._is_number(token) for token in left_out):
                return
            if position < len(said) and (
                self._is_number(said[position]) or said[position].label in _COUNTING
            ):
                continue
            yield position, CLAUSE + ITS_WORD * len(left_out)

    def _drop(self, said: Sequence[Token], place: int) -> float:
        """What it costs to leave a word out."""
        token = said[place]
        if self._is_number(token):
            return float("inf")
        if token.label in UNREAL or (place == 0 and token.label in _ASKING):
            return float("inf")
        if token.label in SMALL:
            return float("inf") if self._parts_numbers(said, place) else SMALL_WORD
        before = [
            one.label for one in said[max(0, place - 2) : place] if one.label not in ("the", "a", "my", "our")
        ]
        if before and before[-1] in _WHAT_OF:
            return float("inf")
        if any(self._is_number(said[beside]) for beside in (place - 1, place + 1) if 0 <= beside < len(said)):
            return float("inf")
        return KNOWN_WORD if token.label in self._labels else STRANGE_WORD

    def _parts_numbers(self, said: Sequence[Token], place: int) -> bool:
        """Whether a small word stands between two numbers: without it they were one."""
        sides = (reversed(said[:place]), said[place + 1 :])
        return all(
            self._is_number(next((token for token in side if token.label not in SMALL), Token("", "")))
            for side in sides
        )

    def _spellings(self, token: Token) -> list[tuple[str, float]]:
        """Labels that a word may stand for, with their cost."""
        if token.label in self._labels or len(token.label) < 4 or self._is_number(token):
            return [(token.label, 0.0)]
        return [(near, MISSPELLED) for near in get_close_matches(token.label, self._sayable, 2, 0.75)]

    def _is_number(self, token: Token) -> bool:
        return token.label == NUMBER or token.label in self._numbers

    def _targets(self, state: int, label: str) -> Iterator[int]:
        return (arc.target for arc in self._automaton.leaving(state, label))

    @cached_property
    def _labels(self) -> frozenset[str]:
        return frozenset(arc.label for leaving in self._automaton.arcs for arc in leaving)

    @cached_property
    def _sayable(self) -> list[str]:
        return sorted({arc.label for leaving in self._automaton.arcs for arc in leaving if not arc.typed})
