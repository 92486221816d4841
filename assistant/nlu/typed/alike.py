"""The sentence whose like was typed or heard: of many ways to say things the nearest of the line's kind.

Within its kind (`kinds`) each way is a vector of its words and pairs of words, weighted by how rare they are
(Sparck Jones 1972, "A statistical interpretation of term specificity"; cosine as in Salton, Wong and Yang
1975, "A vector space model for automatic indexing"). Numbers count as one word of each kind. The sentence
that the nearest stands for, with the numbers and names of the line in place of its own, is asked about.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import log, sqrt
from pathlib import Path

from assistant.batch.record.commands import Command, Incomplete
from assistant.errors import GrammarError
from assistant.nlu.tokens import Token, tokens
from assistant.nlu.typed.kinds import TALK as TALK_KIND
from assistant.nlu.typed.kinds import Kind, Kinds, kind_of
from assistant.nlu.typed.nearest import NEGATIONS
from assistant.nlu.typed.spans import PLAIN, Numbers, Part, one_thing
from assistant.nlu.typed.terms import terms_of, weight_of

TALK = "talk"
"""What stands for no command."""
LOOKED_AT = 40
"""How many of the nearest are tried at most."""
NO = "not"
"""Any word that says no."""
_NAMES = ("name", "recipe", "ingredient", "walk", "shape")
"""Fields of a command whose words must stand in the line."""
_UNITS = frozenset("grams g minutes minute seconds percent".split())  # noqa: SIM905
"""Units that may be put behind a number that has none."""
_TURNING = frozenset("if unless whether should might imagine tried thought wanted".split())  # noqa: SIM905
"""Words that make of a sentence what is not so, or not yet."""

Parse = Callable[[str], Command | None]


@dataclass(frozen=True, slots=True)
class Paraphrase:
    """A way to say something, and the sentence of the grammar that means it; or `TALK`."""

    said: str
    means: str


@dataclass(frozen=True, slots=True)
class Found:
    """What a line is like."""

    cosine: float
    sentence: str
    command: Command | None
    """None for talk."""


@dataclass(frozen=True, slots=True)
class _Way:
    means: str
    kind: Kind
    names: Sequence[str]
    parts: Sequence[Part]
    turning: frozenset[str]


def read_paraphrases(file: Path) -> tuple[Paraphrase, ...]:
    """The ways of a file, one a line: `sentence`, or `what is said => sentence`, or `what is said => talk`.

    Raises GrammarError where it can't be read.
    """
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeError) as problem:
        raise GrammarError(
            f"{file.name}: it can't be read as UTF-8 text ({problem}); put it right."
        ) from None
    lines = (line.strip() for line in text.splitlines())
    pairs = (line.partition("=>") for line in lines if line and not line.startswith("#"))
    return tuple(Paraphrase(said.strip(), means.strip() or said.strip()) for said, _, means in pairs)


class Alike:
    """Finds the nearest way; `parse`: what a sentence of the grammar means at any time, None for nothing."""

    def __init__(self, ways: Iterable[Paraphrase], numbers: Numbers, parse: Parse) -> None:
        self._ways_given = tuple(ways)
        self._numbers = numbers
        self._parse = parse

    @property
    def said(self) -> tuple[str, ...]:
        """What was said, of each way."""
        return tuple(way.said for way in self._ways_given)

    def of(self, said: Sequence[Token], parse: Parse) -> Found | None:
        """The nearest sentence that means a command now, by `parse`, or talk; None where neither is clear."""
        parts = self._numbers.parts(said)
        lone = one_thing(parts)
        readings = [parts] if lone == parts else [lone, parts]
        found = (self._nearest(reading, parse) for reading in readings)
        return max((one for one in found if one is not None), key=lambda one: one.cosine, default=None)

    def _nearest(self, parts: Sequence[Part], parse: Parse) -> Found | None:
        kind = self._kinds.of(terms_of(parts))
        if kind is None or kind == TALK_KIND:
            return None if kind is None else Found(0.0, TALK, None)
        words = frozenset(word for part in parts for word in part.words)
        named = words & self._all_names
        others: Found | None = None
        for found in self._candidates(parts, words, kind, parse):
            if named <= set(found.sentence.split()):
                return found
            others = others or found
        return others

    def _candidates(
        self, parts: Sequence[Part], words: frozenset[str], kind: Kind, parse: Parse
    ) -> Iterator[Found]:
        """The sentences of a kind that may be meant, the nearest first."""
        numbers = [part for part in parts if part.is_number]
        turning = _turning(words)
        for cosine, way in self._ranked(parts, kind):
            for sentence in self._filled(way.means, numbers, words) if way.turning == turning else ():
                command = parse(sentence)
                if command is None or (numbers and isinstance(command, Incomplete)):
                    continue
                named = self._renamed(sentence, command, words, parse)
                if named is not None:
                    yield Found(cosine, *named)
                    break

    def _ranked(self, parts: Sequence[Part], kind: Kind) -> list[tuple[float, _Way]]:
        """The ways of a kind, the nearest first, each with its cosine."""
        vector = self._vector(parts)
        cosines: dict[int, float] = defaultdict(float)
        for term, weight in vector.items():
            for place, there in self._having.get(term, ()):
                cosines[place] += weight * there
        ways = self._ways
        near = [(-cosine, place) for place, cosine in cosines.items() if ways[place].kind == kind]
        return [(-cosine, ways[place]) for cosine, place in sorted(near)[:LOOKED_AT]]

    def _filled(self, sentence: str, numbers: Sequence[Part], line: frozenset[str]) -> Iterator[str]:
        """The sentence with these numbers in place of its own; then with its units where they have none."""
        there = self._numbers.parts(tokens(sentence))
        if sum(part.is_number for part in there) != len(numbers):
            return
        for with_units in (False, True) if numbers and not line & _UNITS else (False,):
            given = iter(numbers)
            words: list[str] = []
            for part in there:
                number = next(given) if part.is_number else None
                words += (number or part).words
                if with_units and number is not None:
                    words += _unit(part, number)
            yield " ".join(words)

    def _renamed(
        self, sentence: str, command: Command, words: frozenset[str], parse: Parse
    ) -> tuple[str, Command] | None:
        """The sentence with the names of the line in place of others; None where the line names none."""
        missing = [name for name in _names(command) if not words.issuperset(name.split())]
        if not missing:
            return sentence, command
        there = sentence.split()
        for name in missing:
            for other in sorted(words.difference(there)) if name in there else ():
                renamed = " ".join(other if word == name else word for word in there)
                found = parse(renamed)
                same = found is not None and type(found) is type(command)
                if found is not None and same and words.issuperset(" ".join(_names(found)).split()):
                    return renamed, found
        return None

    def _vector(self, parts: Sequence[Part]) -> dict[str, float]:
        """Terms of a line with their weights, of length one."""
        many = len(self._ways) + 1
        weights = {
            term: weight_of(term) * log(many / (self._frequency.get(term, 0) + 0.5))
            for term in terms_of(parts)
        }
        length = sqrt(sum(weight * weight for weight in weights.values())) or 1.0
        return {term: weight / length for term, weight in weights.items()}

    @cached_property
    def _ways(self) -> tuple[_Way, ...]:
        """The ways as they are compared; what means several commands, or nothing any more, is left out."""
        found: list[_Way] = []
        for one in self._ways_given:
            command = None if one.means == TALK else self._parse(one.means)
            kind = kind_of(command)
            if kind is not None and (command is None) == (one.means == TALK):
                parts = self._numbers.parts(tokens(one.said))
                words = frozenset(word for part in parts for word in part.words)
                names = () if command is None else _names(command)
                found.append(_Way(one.means, kind, names, parts, _turning(words)))
        return tuple(found)

    @cached_property
    def _kinds(self) -> Kinds:
        ways: dict[Kind, list[set[str]]] = defaultdict(list)
        for way in self._ways:
            ways[way.kind].append(terms_of(way.parts))
        return Kinds(ways)

    @cached_property
    def _all_names(self) -> frozenset[str]:
        """Words that name something: a line with one is about that."""
        return frozenset(word for way in self._ways for name in way.names for word in name.split())

    @cached_property
    def _frequency(self) -> Counter[str]:
        return Counter(term for way in self._ways for term in terms_of(way.parts))

    @cached_property
    def _having(self) -> dict[str, list[tuple[int, float]]]:
        """Term -> the places of the ways that have it, with its weight in each."""
        having: dict[str, list[tuple[int, float]]] = defaultdict(list)
        for place, way in enumerate(self._ways):
            for term, weight in self._vector(way.parts).items():
                having[term].append((place, weight))
        return having


def _turning(words: frozenset[str]) -> frozenset[str]:
    """Words that turn a sentence; all that say no are one."""
    no = any(NEGATIONS.fullmatch(word) for word in words)
    return words & _TURNING | ({NO} if no else frozenset())


def _unit(part: Part, number: Part) -> Iterator[str]:
    """The unit of a part behind a number that has none; never kilos, which are a thousand grams."""
    if number.kind == PLAIN and part.words[-1] in _UNITS:
        yield part.words[-1]


def _names(command: Command) -> list[str]:
    found = (getattr(command, key, None) for key in _NAMES)
    return [name for name in found if isinstance(name, str) and not name.isdigit()]
