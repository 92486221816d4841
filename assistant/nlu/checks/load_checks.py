"""Whether every sentence of a grammar means one whole command: checked when it is loaded."""

from collections import deque
from collections.abc import Iterable, Mapping
from functools import cache

from assistant.errors import GrammarError
from assistant.nlu.automaton import Arc, Automaton
from assistant.nlu.construction import NUMBER, TYPED
from assistant.nlu.meaning import COMMAND, THEN, names_command, problem_with, read_tag
from assistant.nlu.syntax import VOID, Reference, Source, Tagged, Word, parts
from assistant.nlu.tokens import tokens

_Known = tuple[str, frozenset[str], bool]
"""What a path through the automaton has set so far: the command, its slots, and whether there is a number."""
_Point = tuple[int, _Known]
"""A state, and what is set when it is reached."""


def means_commands(source: Source) -> bool:
    """Whether a grammar means commands: some tag of it names one."""
    return any(
        isinstance(item, Tagged) and names_command(item.tag)
        for rule in source.rules.values()
        for item in parts(rule.body)
    )


def check_tags(source: Source) -> None:
    """Raise GrammarError for a tag without a meaning, and for a word that text never has."""
    for rule in source.rules.values():
        for item in parts(rule.body):
            if isinstance(item, Word):
                _check_word(source, item)
            elif isinstance(item, Tagged) and (item.tag + " ").startswith(TYPED):
                _check_typed(source, item)
            elif isinstance(item, Tagged):
                try:
                    read_tag(item.tag)
                except ValueError as problem:
                    raise source.error(item.line, str(problem)) from None


def _check_word(source: Source, word: Word) -> None:
    found = [token.label for token in tokens(word.text)]
    if found != [word.text] or not word.text[0].isalpha():
        raise source.error(
            word.line,
            f"found the word `{word.text}`; a word is letters, maybe with an apostrophe:"
            " write a number as it is said, and a compound as two words.",
        )


def _check_typed(source: Source, item: Tagged) -> None:
    signs = item.tag.removeprefix(TYPED.strip()).strip().casefold()
    if not isinstance(item.item, Reference) or item.item.rule != VOID:
        raise source.error(
            item.line, f"found {{{item.tag}}}; it comes right after <VOID>, which can't be said."
        )
    if signs != NUMBER and [token.label for token in tokens(signs)] != [signs]:
        raise source.error(
            item.line,
            f"found {{{item.tag}}}; typed is followed by one word, one sign, one digit, or # for any number.",
        )


def check_meaning(source: Source, automaton: Automaton) -> None:
    """Raise GrammarError unless every sentence means a command.

    Walks all states, with all that can be set there.
    """
    leaving = [_distinct(arcs) for arcs in automaton.arcs]
    came: dict[_Point, tuple[_Point, str] | None] = {
        (start, ("", frozenset(), False)): None for start in automaton.start.values()
    }
    waiting = deque(came)
    while waiting:
        here = waiting.popleft()
        state, known = here
        for arc in leaving[state]:
            try:
                after = (arc.target, _pass(arc.tags, known) if arc.tags else known)
            except ValueError as problem:
                raise _no_meaning(source, (*_said(came, here), arc.label), str(problem)) from None
            if after not in came:
                came[after] = (here, arc.label)
                waiting.append(after)
        if state in automaton.final:
            try:
                _pass((*automaton.final[state], THEN), known)
            except ValueError as problem:
                raise _no_meaning(source, _said(came, here), str(problem)) from None


def _distinct(arcs: Iterable[Arc]) -> list[Arc]:
    """Arcs of a state, one of each that differ only in their word and in what their numbers are."""
    found: dict[tuple[int, tuple[str, ...]], Arc] = {}
    for arc in arcs:
        found.setdefault((arc.target, _kinds(arc.tags)), arc)
    return list(found.values())


@cache
def _kinds(tags: tuple[str, ...]) -> tuple[str, ...]:
    """Tags without what their numbers are."""
    return tuple(tag[0] if tag[0] in "+*&" else tag for tag in tags)


@cache
def _pass(tags: tuple[str, ...], known: _Known) -> _Known:
    """What is set after tags; raises ValueError with what is wrong with them or with the command they end."""
    command, slots, number = known
    for tag in tags:
        operation = read_tag(tag)
        number = number or operation.sets_number
        if operation.kind == THEN:
            if problem := problem_with(command, slots, number=number):
                raise ValueError(problem)
            command, slots, number = "", frozenset(), False
        if operation.kind != "set":
            continue
        if operation.name == COMMAND:
            if command:
                raise ValueError(f"its tags name two, {command} and {operation.value}")
            command = operation.value
        elif operation.name in slots:
            raise ValueError(f"its tags set {operation.name} twice")
        else:
            slots |= {operation.name}
    return command, slots, number


def _said(came: Mapping[_Point, tuple[_Point, str] | None], point: _Point) -> tuple[str, ...]:
    """Words that lead to a point."""
    words: list[str] = []
    step = came[point]
    while step is not None:
        before, word = step
        words.append(word)
        step = came[before]
    return tuple(reversed(words))


def _no_meaning(source: Source, said: tuple[str, ...], problem: str) -> GrammarError:
    return GrammarError(f'{source.file}: "{" ".join(said)}" means no command: {problem}; mend its tags.')
