"""A grammar file, loaded: what may be said as a graph for recognisers, and the Command that a sentence means."""

from collections import deque
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path

from assistant.batch.commands import Command, Incomplete
from assistant.errors import GrammarError
from assistant.nlu import meaning
from assistant.nlu.ambiguity import check_one_way
from assistant.nlu.automaton import Arc, Automaton, build
from assistant.nlu.graph import word_graph
from assistant.nlu.jsgf import Source, read_jsgf
from assistant.nlu.text import tokens
from assistant.ports import WordGraph

ANSWER_RULE = "answer"
"""The public rule whose sentences may be said only while a question is open."""


def load_grammar(path: Path) -> "Grammar":
    """Grammar of a JSGF file; raises GrammarError.

    With a tag `{command=...}` in it, every sentence must mean one command, in one way. Without, it is a grammar of
    plain words: it gives a graph, and parses nothing.
    """
    return Grammar(read_jsgf(path))


class Grammar:
    """What may be said, and what it means."""

    def __init__(self, source: Source) -> None:
        self._source = source
        public = [rule.name for rule in source.rules.values() if rule.public]
        answers = [name for name in public if name == ANSWER_RULE and len(public) > 1]
        self._automaton = build(source, [name for name in public if name not in answers], answers)
        self._ours = any(meaning.is_ours(tag) for tag in _tags(self._automaton))
        if self._ours:
            check_one_way(self._automaton, source.file)
            _check_meaning(source, self._automaton)
        self._graphs: dict[bool, WordGraph] = {}

    def graph(self, asking: bool) -> WordGraph:
        """All sentences that can be said; while `asking`, answers to a question too."""
        if asking not in self._graphs:
            self._graphs[asking] = word_graph(self._automaton, asking=asking)
        return self._graphs[asking]

    @property
    def words(self) -> frozenset[str]:
        """Every word that can be said, answers included."""
        return frozenset(arc.label for arcs in self._automaton.arcs for arc in arcs if not arc.typed)

    def phrases(self) -> Mapping[str, tuple[str, ...]]:
        """Examples of the rules that have some (`@example` in the comment before them), by rule name."""
        return {rule.name: rule.examples for rule in self._source.rules.values() if rule.examples}

    def parse(self, text: str, *, asking: bool = False) -> Command | None:
        """Command of a sentence, spoken or typed; None for talk."""
        if not self._ours:
            return None
        said = tokens(text)
        arcs = self._automaton.arcs
        ways: list[dict[int, tuple[int, Arc]]] = [{}]
        states = [self._automaton.start[asking]]
        for token in said:
            reached = {
                arc.target: (state, arc)
                for state in states
                for arc in arcs[state]
                if arc.label == token.label
            }
            ways.append(reached)
            states = list(reached)
        state = next((state for state in states if state in self._automaton.final), None)
        if state is None:
            return None
        steps = [(tag, "") for tag in reversed(self._automaton.final[state])]
        for way, token in zip(reversed(ways), reversed(said), strict=False):
            state, arc = way[state]
            steps += [(tag, token.text) for tag in reversed(arc.tags)]
        return meaning.command_of(reversed(steps))

    def suggest(self, text: str) -> str | None:
        """A complete command near to what was typed, for a keyboard; None when nothing is near."""
        words = [token.text for token in tokens(text)]
        known = sorted(self.words)
        mended = " ".join(
            word if word in known else (get_close_matches(word, known, 1, 0.7) or [word])[0] for word in words
        )
        for candidate in (mended, *self._nearest(mended)):
            found = self.parse(candidate)
            if found is not None and not isinstance(found, Incomplete):
                return candidate
        return None

    def _nearest(self, text: str) -> list[str]:
        examples = [example for examples in self.phrases().values() for example in examples]
        return get_close_matches(text, examples, 3, 0.6)


def _tags(automaton: Automaton) -> set[str]:
    tags = {tag for tags in automaton.final.values() for tag in tags}
    return tags.union(*(arc.tags for arcs in automaton.arcs for arc in arcs))


_Known = tuple[str, frozenset[str], bool]
"""What a way through the automaton has set so far: the command, its slots, and whether a number was said."""


def _check_meaning(source: Source, automaton: Automaton) -> None:
    """Raise GrammarError unless every sentence means a command: walk all states with all that can be known there."""
    begin: tuple[int, _Known] = (0, ("", frozenset(), False))
    words: dict[tuple[int, _Known], tuple[str, ...]] = {begin: ()}
    waiting = deque([begin])
    while waiting:
        here = waiting.popleft()
        state, known = here
        for arc in automaton.arcs[state]:
            said = (*words[here], arc.label)
            after = (arc.target, _pass(source, arc.tags, known, said))
            if after not in words:
                words[after] = said
                waiting.append(after)
        if state in automaton.final:
            command, slots, number = _pass(source, automaton.final[state], known, words[here])
            problem = meaning.missing_in(command, slots, number=number)
            if problem:
                raise _no_meaning(source, words[here], problem)


def _pass(source: Source, tags: tuple[str, ...], known: _Known, said: tuple[str, ...]) -> _Known:
    command, slots, number = known
    for tag in tags:
        operation = meaning.read_tag(tag)
        number = number or operation.gives_number
        if operation.kind != "set":
            continue
        if operation.name == meaning.COMMAND:
            if command:
                raise _no_meaning(source, said, f"its tags name two, {command} and {operation.value}")
            command = operation.value
        elif operation.name in slots:
            raise _no_meaning(source, said, f"its tags give {operation.name} twice")
        else:
            slots |= {operation.name}
    return command, slots, number


def _no_meaning(source: Source, said: tuple[str, ...], problem: str) -> GrammarError:
    return GrammarError(f'{source.file}: "{" ".join(said)}" means no command: {problem}; mend its tags.')
