"""A loaded grammar: what may be said, as a graph for recognisers, and the Command of a sentence."""

import gc
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache, partial
from itertools import chain
from pathlib import Path
from typing import Literal

import msgspec

from assistant.asr.short_forms import shorts
from assistant.batch.decide.slots import GIVEN
from assistant.batch.record.command_tags import TAGS
from assistant.batch.record.commands import Command, Incomplete, tag_of
from assistant.errors import GrammarError
from assistant.nlu.automaton import Arc, build
from assistant.nlu.checks.ambiguity import check_one_way
from assistant.nlu.checks.load_checks import check_meaning, check_tags, means_commands
from assistant.nlu.graph import WordGraphs, continuations, kept_graph
from assistant.nlu.jsgf import parse_raw, read_raw
from assistant.nlu.keeping.kept import Kept
from assistant.nlu.keeping.packed import PackedAutomaton, pack_automaton, unpack_automaton
from assistant.nlu.meaning import command_of
from assistant.nlu.syntax import Source, Tagged, Word, parts
from assistant.nlu.tokens import Token, tokens
from assistant.nlu.typed import NEGATIONS, Alike, Nearest, Numbers, Paraphrase, units_of
from assistant.ports import Asking, WordGraph

FEW_CHANGES = 0.9
"""Up to this cost of its changes a typed line is the sentence that they lead to."""


class PackedGrammar(msgspec.Struct, array_like=True, frozen=True):
    """A grammar that was checked, as numbers and words."""

    means_commands: bool
    automaton: PackedAutomaton
    rules: list[str]
    phrases: dict[str, tuple[str, ...]]
    number_words: list[str]


@dataclass(frozen=True, slots=True, eq=False)
class Earlier:
    """A grammar that an earlier start checked and kept."""

    packed: PackedGrammar
    read: Callable[[], Source]
    """Reads its rules again: they are hardly ever asked for."""
    kept: Kept


Changes = Literal["few", "many", "alike"]


@dataclass(frozen=True, slots=True)
class Mended:
    """The sentence that a typed line was meant for."""

    sentence: str
    command: Command
    changes: Changes
    """How many words were changed; or that it is only like the line, by words that they share."""


SAID_WHEN_ASKED = {
    "answer": Asking.ANSWER,
    "walk_move": Asking.ANSWER,
    **{TAGS[kind]: slot for kind, slot in GIVEN.items()},
}
"""Public rule, and the command of the same name -> what is asked when its sentences may be said.

Answers may be said in every slot too; everything else at any time.
"""
RULES_WHEN_ASKED = {**SAID_WHEN_ASKED, "given_crumb": Asking.CRUMB}
"""Public rule -> what is asked when its sentences may be said. A verdict is a command at other times too."""
TALK = "talk"
"""Public rule of sentences that mean nothing, as "don't close the batch".

They are listened for, so as not to be heard as what sounds most like them. What is a command too is that
command.
"""


def load_grammar(path: Path) -> "Grammar":
    """Grammar of a JSGF file; raises GrammarError.

    With a tag `{command=...}` in it, every sentence must mean one command, by one reading. Without, it is a
    grammar of plain words: it has a graph, and parses nothing.
    """
    try:
        return _grammar_of(path.name, read_raw(path))
    except RecursionError:
        raise GrammarError(
            f"{path.name}: brackets or rules are nested too deep to be read; nest fewer."
        ) from None


@lru_cache(maxsize=4)
def _grammar_of(file: str, raw: bytes) -> "Grammar":
    """Grammar of the bytes of a file: reading one takes a second or so, and it does not change."""
    with without_collecting():
        return Grammar(parse_raw(file, raw))


@contextmanager
def without_collecting() -> Iterator[None]:
    """Leaves the search for unused cycles off, and what was made in the meantime out of it for good.

    A grammar is some million small objects that all stay: to look through them again and again takes half
    of the time in which they are made.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if was:
            gc.enable()


def may_be_said(command: Command, asking: Asking) -> bool:
    """Whether a command may be said while `asking`."""
    return SAID_WHEN_ASKED.get(tag_of(command), Asking.NOTHING) in asking.layers


class Grammar:
    """What may be said, and what it means.

    `checked` False: without looking for sentences of two readings or none, to read meanings by alone. Raises
    ValueError for one kept by an earlier start that can't have been kept so.
    """

    def __init__(self, source: "Source | Earlier", *, checked: bool = True) -> None:
        if isinstance(source, Earlier):
            self._go_on_from(source)
            return
        self._read: Callable[[], Source] = lambda: source
        self._kept: Kept | None = None
        self._means_commands = means_commands(source)
        if self._means_commands:
            check_tags(source)
        rules: dict[Asking, list[str]] = {asking: [] for asking in Asking}
        talk = [TALK] if self._means_commands and TALK in source.rules else []
        for rule in source.rules.values():
            if rule.public and rule.name not in talk:
                asked = self._means_commands and RULES_WHEN_ASKED.get(rule.name)
                rules[asked or Asking.NOTHING].append(rule.name)
        self._automaton = build(source, rules, talk)
        if self._means_commands and checked:
            check_one_way(self._automaton, source.file)
            check_meaning(source, self._automaton)
        self._graphs = WordGraphs(self._automaton)

    def _go_on_from(self, earlier: "Earlier") -> None:
        packed = earlier.packed
        self._read = earlier.read
        self._means_commands = packed.means_commands
        self._automaton = unpack_automaton(packed.automaton)
        self._rules = frozenset(packed.rules)
        self._phrases = packed.phrases
        self.number_words = frozenset(packed.number_words)
        self.keep(earlier.kept)

    def keep(self, kept: Kept) -> None:
        """Keep from now on what takes long to make; the grammar is one of files alone, and checked."""
        self._kept = kept
        self._graphs = WordGraphs(self._automaton, kept)

    def packed(self) -> PackedGrammar:
        """All of it that is needed to go on from here."""
        automaton = pack_automaton(self._automaton)
        return PackedGrammar(
            self._means_commands,
            automaton,
            sorted(self._rules),
            dict(self.phrases()),
            sorted(self.number_words),
        )

    @cached_property
    def source(self) -> Source:
        """Its rules, as read."""
        return self._read()

    def layer(self, asking: Asking) -> WordGraph:
        """The sentences that one layer of what may be said adds: a slot's values, answers, or commands."""
        return self._graphs.of([asking])

    def listened(self, asking: Asking) -> WordGraph:
        """What is listened for in one layer: its sentences, and beside the commands the talk."""
        return self._graphs.of([asking], talk=asking is Asking.NOTHING)

    def graph(self, asking: Asking) -> WordGraph:
        """All sentences that can be said while `asking`: those of all its layers in one graph."""
        return self._graphs.of(asking.layers)

    def graph_of(self, rule: str) -> WordGraph | None:
        """The sentences of one rule that can be said at any time; None where the grammar has no such rule."""
        if rule not in self._rules:
            return None
        return kept_graph(
            self._kept,
            f"rule-{rule}",
            lambda: WordGraphs(build(self.source, {Asking.NOTHING: [rule]})).of([Asking.NOTHING]),
        )

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word that can be said, answers included."""
        return frozenset(arc.label for arcs in self._automaton.arcs for arc in arcs if not arc.typed)

    def phrases(self) -> Mapping[str, tuple[str, ...]]:
        """Examples of the rules that have some (`@example` in the comment before them), by rule name."""
        return self._phrases

    @cached_property
    def _rules(self) -> frozenset[str]:
        return frozenset(self.source.rules)

    @cached_property
    def _phrases(self) -> Mapping[str, tuple[str, ...]]:
        return {rule.name: rule.examples for rule in self.source.rules.values() if rule.examples}

    def parse(self, text: str, *, asking: Asking = Asking.NOTHING) -> Command | None:
        """Command of a sentence, spoken or typed.

        None where it is not a command that may be said while `asking`. What fills the slot that is asked for
        goes before a command of the same words.
        """
        if not self._means_commands:
            return None
        found = self.steps(text, asking=asking)
        return None if found is None else command_of(found)

    def steps(self, text: str, *, asking: Asking = Asking.NOTHING) -> list[tuple[str, str]] | None:
        """Tags of a sentence in order, each with the text of the word that it comes with; None for talk.

        "It is" is read as "it's" where the grammar has no other reading.
        """
        said = tokens(text)
        found = (
            self._steps(line, self._automaton.start[layer])
            for line in (said, *self._shortened(said))
            for layer in asking.layers
        )
        return next((steps for steps in found if steps is not None), None)

    def _shortened(self, said: list[Token]) -> Iterator[list[Token]]:
        """The line with pairs of words as short forms of the grammar: all of them, then each alone."""
        places = {
            place: Token(short, short)
            for place in range(len(said) - 1)
            for short in shorts(said[place].label, said[place + 1].label)
            if short in self.words
        }
        if len(places) > 1:
            yield _with_shorts(said, places)
        for place, short in places.items():
            yield _with_shorts(said, {place: short})

    def _steps(self, said: list[Token], start: int) -> list[tuple[str, str]] | None:
        """The same of one layer."""
        leaving = self._automaton.leaving
        passed: list[dict[int, tuple[int, Arc]]] = [{}]
        states = [start]
        for token in said:
            reached = {arc.target: (state, arc) for state in states for arc in leaving(state, token.label)}
            passed.append(reached)
            states = list(reached)
        state = next((state for state in states if state in self._automaton.final), None)
        if state is None:
            return None
        steps = [(tag, "") for tag in reversed(self._automaton.final[state])]
        for arrived, token in zip(reversed(passed), reversed(said), strict=False):
            state, arc = arrived[state]
            steps += [(tag, token.text) for tag in reversed(arc.tags)]
        return steps[::-1]

    def continuations(self, text: str, *, asking: Asking = Asking.NOTHING) -> Iterator[str] | None:
        """Words that can be said behind a sentence, in the same command; None where it is not a whole one."""
        starts = {self._automaton.start[layer] for layer in asking.layers}
        return continuations(self._automaton, text, starts)

    def also_said(self, ways: Sequence[Paraphrase]) -> None:
        """Other ways to say its sentences, for lines that it lacks."""
        self._alike = self._alike_of(ways)

    def mended(self, text: str, *, asking: Asking = Asking.NOTHING) -> "Mended | None":
        """What a typed line was meant for; None where no sentence is near.

        That is what a few changed words lead to; where they are many, rather what is said like it.
        """
        said = tokens(text)
        near = self._nearest.of((self._automaton.start[layer] for layer in asking.layers), said)
        if near is not None and near[0] <= FEW_CHANGES:
            return self._whole(near[1], asking, "few")
        alike = self._alike.of(said, partial(self.parse, asking=asking))
        if alike is None:
            return None if near is None else self._whole(near[1], asking, "many")
        return None if alike.command is None else Mended(alike.sentence, alike.command, "alike")

    def ways(self) -> Iterator[Sequence[str]]:
        """Lines of its own and of `also_said`, word by word: what may be said otherwise is made of such."""
        for said in chain(self._alike.said, *self.phrases().values()):
            yield [token.text for token in tokens(said)]

    def meant_by_words(self, text: str, asking: Asking) -> "tuple[str, Command] | None":
        """What words mean that were heard one by one: a sentence and its command; None where none is near.

        Where a word says no, none is: what it says no to may be misheard.
        """
        if any(NEGATIONS.fullmatch(word) for word in text.split()):
            return None
        found = self.mended(text, asking=asking)
        return None if found is None else (found.sentence, found.command)

    def _whole(self, sentence: str, asking: Asking, changes: Changes) -> "Mended | None":
        """A sentence with its command; None where something is missing in it."""
        found = self.parse(sentence, asking=asking)
        return None if found is None or isinstance(found, Incomplete) else Mended(sentence, found, changes)

    def _fits(self, words: str, slot: Asking) -> bool:
        """Whether words are a value of a slot, whatever else may be said while it is open."""
        return self._steps(tokens(words), self._automaton.start[slot]) is not None

    @cached_property
    def _nearest(self) -> Nearest:
        return Nearest(self._automaton, self.number_words | self._units)

    @cached_property
    def _units(self) -> frozenset[str]:
        return units_of(self._automaton)

    @cached_property
    def _alike(self) -> Alike:
        return self._alike_of(())

    def _alike_of(self, ways: Sequence[Paraphrase]) -> Alike:
        numbers = Numbers(self._fits, self.number_words, self._units)
        return Alike(ways, numbers, partial(self.parse, asking=Asking.ANSWER))

    @cached_property
    def number_words(self) -> frozenset[str]:
        """Words that the grammar counts with, as it spells them: "eight", "hundred"."""
        return frozenset(
            item.item.text
            for rule in self.source.rules.values()
            for item in parts(rule.body)
            if isinstance(item, Tagged) and isinstance(item.item, Word) and item.tag[0] in "+*&"
        )

    def suggest(self, text: str) -> str | None:
        """A whole command near to what was typed, for a keyboard; None when nothing is near."""
        for candidate in (self._mended(text), *self._near_examples(text)):
            found = None if candidate is None else self.parse(candidate)
            if found is not None and not isinstance(found, Incomplete):
                return candidate
        return None

    def _mended(self, text: str) -> str | None:
        """The text with each unknown word changed into the nearest word that can be said.

        None where one has none.
        """
        known = {arc.label for arcs in self._automaton.arcs for arc in arcs}
        words: list[str] = []
        for token in tokens(text):
            near = (
                [token.text]
                if token.label in known
                else get_close_matches(token.label, sorted(self.words), 1, 0.7)
            )
            if not near:
                return None
            words += near
        return " ".join(words)

    def _near_examples(self, text: str) -> list[str]:
        examples = [example for examples in self.phrases().values() for example in examples]
        return get_close_matches(text.casefold(), examples, 3, 0.75)


def _with_shorts(said: Sequence[Token], places: Mapping[int, Token]) -> list[Token]:
    """The line with a short form in place of the two words that begin at each of the places."""
    return [places.get(place, token) for place, token in enumerate(said) if place - 1 not in places]
