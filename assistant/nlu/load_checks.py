"""Whether every sentence of a grammar means one whole command: checked when it is loaded."""

from collections import deque
from collections.abc import Iterable

from assistant.errors import GrammarError
from assistant.nlu.automaton import Arc, Automaton
from assistant.nlu.construction import NUMBER, TYPED
from assistant.nlu.meaning import COMMAND, names_command, problem_with, read_tag
from assistant.nlu.syntax import VOID, Reference, Source, Tagged, Word, parts
from assistant.nlu.tokens import tokens

_Known = tuple[str, frozenset[str], bool]
"""What a path through the automaton has set so far: the command, its slots, and whether there is a number."""


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
    nothing: _Known = ("", frozenset(), False)
    words: dict[tuple[int, _Known], tuple[str, ...]] = {
        (start, nothing): () for start in automaton.start.values()
    }
    waiting = deque(words)
    while waiting:
        here = waiting.popleft()
        state, known = here
        for arc in leaving[state]:
            said = (*words[here], arc.label)
            after = (arc.target, _pass(source, arc.tags, known, said))
            if after not in words:
                words[after] = said
                waiting.append(after)
        if state in automaton.final:
            command, slots, number = _pass(source, automaton.final[state], known, words[here])
            problem = problem_with(command, slots, number=number)
            if problem:
                raise _no_meaning(source, words[here], problem)


def _distinct(arcs: Iterable[Arc]) -> list[Arc]:
    """Arcs of a state, one of each that differ only in their word and in what their numbers are."""
    found: dict[tuple[int, tuple[str, ...]], Arc] = {}
    for arc in arcs:
        kinds = tuple(tag[0] if tag[0] in "+*&" else tag for tag in arc.tags)
        found.setdefault((arc.target, kinds), arc)
    return list(found.values())


def _pass(source: Source, tags: tuple[str, ...], known: _Known, said: tuple[str, ...]) -> _Known:
    command, slots, number = known
    for tag in tags:
        operation = read_tag(tag)
        number = number or operation.sets_number
        if operation.kind == "then":
            if problem := problem_with(command, slots, number=number):
                raise _no_meaning(source, said, problem)
            command, slots, number = "", frozenset(), False
        if operation.kind != "set":
            continue
        if operation.name == COMMAND:
            if command:
                raise _no_meaning(source, said, f"its tags name two, {command} and {operation.value}")
            command = operation.value
        elif operation.name in slots:
            raise _no_meaning(source, said, f"its tags set {operation.name} twice")
        else:
            slots |= {operation.name}
    return command, slots, number


def _no_meaning(source: Source, said: tuple[str, ...], problem: str) -> GrammarError:
    return GrammarError(f'{source.file}: "{" ".join(said)}" means no command: {problem}; mend its tags.')
