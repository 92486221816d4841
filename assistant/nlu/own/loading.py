"""The grammar with a kitchen's own words: a row that can't be used is left out and told, the rest counts."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import msgspec

from assistant.batch.record.command_object import command_object
from assistant.batch.record.commands import Command, Incomplete, Together
from assistant.errors import GrammarError
from assistant.nlu.checks.ambiguity import TwoReadingsError
from assistant.nlu.construction import NUMBER
from assistant.nlu.grammar import Earlier, Grammar, PackedGrammar, without_collecting
from assistant.nlu.jsgf import parse_raw, read_raw
from assistant.nlu.keeping.kept import Kept
from assistant.nlu.own.rows import Kind, Own, OwnName, OwnPhrase, named
from assistant.nlu.own.weaving import Woven, known_names, weave, with_marks, woven_name, woven_phrase
from assistant.nlu.syntax import Source
from assistant.ports import Asking

KEPT = "grammar"
"""Name under which the whole of it is kept."""
PHRASE, NAME = "own phrase", "own name"
"""What the names of the rows' rules begin with."""


_UNITS = {"seconds": "s", "percent": "%"}


@dataclass(frozen=True, slots=True)
class KitchenGrammar:
    """A grammar, and what became of the kitchen's own words."""

    grammar: Grammar
    names: tuple[OwnName, ...] = ()
    """Names that can be said, those of the grammar itself not among them."""
    phrases: tuple[OwnPhrase, ...] = ()
    """Phrases that can be said."""
    problems: tuple[str, ...] = ()
    """Rows of `words.toml` that were left out: a line each."""
    unsayable: tuple[str, ...] = ()
    """Names in other files of the kitchen that can't be said: a line each."""


def load_kitchen_grammar(path: Path, own: Own, keep_in: Path | None = None) -> KitchenGrammar:
    """Grammar of a JSGF file with a kitchen's own words. Raises GrammarError for the file alone.

    `keep_in`: folder where what is made of them is kept for the next start; None: nowhere.
    """
    try:
        return _kitchen_grammar_of(path.name, read_raw(path), own, keep_in)
    except RecursionError:
        raise GrammarError(
            f"{path.name}: brackets or rules are nested too deep to be read; nest fewer."
        ) from None


@lru_cache(maxsize=4)
def _kitchen_grammar_of(file: str, raw: bytes, own: Own, keep_in: Path | None) -> KitchenGrammar:
    def made() -> KitchenGrammar:
        return _Weaver(parse_raw(file, raw), own).woven()

    with without_collecting():
        kept = None if keep_in is None else Kept.of(keep_in, file.encode(), raw, repr(own).encode())
        if kept is None:
            return made()
        data = kept.read(KEPT)
        if data is not None:
            with suppress(ValueError):
                return _unpacked(data, lambda: made().grammar.source, kept)
        woven = made()
        kept.write(KEPT, _packed(woven))
        woven.grammar.keep(kept)
        return woven


class _PackedKitchen(msgspec.Struct, array_like=True, frozen=True):
    """A `KitchenGrammar` as numbers and words."""

    grammar: PackedGrammar
    names: tuple[OwnName, ...]
    phrases: tuple[OwnPhrase, ...]
    problems: tuple[str, ...]
    unsayable: tuple[str, ...]


def _packed(woven: KitchenGrammar) -> bytes:
    return msgspec.msgpack.encode(
        _PackedKitchen(woven.grammar.packed(), woven.names, woven.phrases, woven.problems, woven.unsayable)
    )


def _unpacked(data: bytes, source: Callable[[], Source], kept: Kept) -> KitchenGrammar:
    """What was packed. Raises ValueError."""
    found = msgspec.msgpack.decode(data, type=_PackedKitchen)
    grammar = Grammar(Earlier(found.grammar, source, kept))
    return KitchenGrammar(grammar, found.names, found.phrases, found.problems, found.unsayable)


class _Weaver:
    """Weaves one kitchen's words into one grammar."""

    def __init__(self, source: Source, own: Own) -> None:
        self._source = source
        self._own = own
        self._problems: list[str] = []
        self._unsayable: list[str] = []
        self._elsewhere = frozenset(name.where for name in own.names)

    def woven(self) -> KitchenGrammar:
        """The grammar with all that can be used."""
        names = dict(self._names())
        phrases: list[Woven] = []
        if self._own.phrases:
            marked = Grammar(with_marks(weave(self._source, names)), checked=False)
            phrases = list(self._phrases(marked))
        grammar, rows = self._settled([*names, *phrases])
        return KitchenGrammar(
            grammar,
            tuple(name for row, name in names.items() if row in rows),
            tuple(OwnPhrase(row.said, row.means, row.asking) for row in phrases if row in rows),
            tuple(self._problems),
            tuple(self._unsayable),
        )

    def _leave_out(self, where: str, problem: str) -> None:
        (self._unsayable if where in self._elsewhere else self._problems).append(f"{where}: {problem}")

    def _names(self) -> Iterator[tuple[Woven, OwnName]]:
        """Names that the grammar lacks, as rules."""
        built_in = known_names(self._source)
        known: dict[Kind, set[str]] = {kind: set(names) for kind, names in built_in.items()}
        for name in self._own.names:
            known.setdefault(name.kind, set()).add(name.of)
        taken = set[tuple[Kind, str]]()
        for name in (*self._own.names, *self._written(known)):
            if name.said in built_in.get(name.kind, ()) and name.said == name.of:
                continue
            if (name.kind, name.said) in taken:
                continue
            taken.add((name.kind, name.said))
            try:
                yield woven_name(self._source, name, f"{NAME} {len(taken)}"), name
            except GrammarError as problem:
                self._leave_out(
                    name.where, f'"{name.said}": {problem}' if name.where in self._elsewhere else str(problem)
                )

    def _written(self, known: dict[Kind, set[str]]) -> Iterator[OwnName]:
        for row in self._own.name_rows:
            try:
                yield named(row, known)
            except GrammarError as problem:
                self._leave_out(row.where, str(problem))

    def _phrases(self, marked: Grammar) -> Iterator[Woven]:
        for number, row in enumerate(self._own.phrases, 1):
            try:
                yield woven_phrase(self._source, marked, row.said, row.means, row.where, f"{PHRASE} {number}")
            except GrammarError as problem:
                self._leave_out(row.where, str(problem))

    def _settled(self, rows: list[Woven]) -> tuple[Grammar, list[Woven]]:
        """The grammar with these rows, less those that can't be; of two that clash the later goes."""
        while True:
            try:
                return Grammar(weave(self._source, rows)), rows
            except TwoReadingsError as problem:
                row = next((row for row in reversed(rows) if row.rule in problem.rules), None)
                if row is None:
                    raise
                rows.remove(row)
                self._leave_out(row.where, self._reading(row, rows, problem))
            except GrammarError as problem:
                if not rows:
                    raise
                row = rows.pop()
                self._leave_out(row.where, f"it can't be used: {problem}")

    def _reading(self, row: Woven, others: list[Woven], problem: TwoReadingsError) -> str:
        """What to say of a row with a sentence that means something already."""
        sentence = " ".join("150" if word == NUMBER else word for word in problem.words)
        asking = row.asking if row.asking is not Asking.NOTHING else Asking.ANSWER
        means = Grammar(weave(self._source, others), checked=False).parse(sentence, asking=asking)
        own = self._alone(row, others, sentence)
        if means is not None and means == own:
            return f'"{sentence}" is already understood: {described(means)}. Leave it out.'
        already = f"already means {described(means)}" if means else "has another reading already"
        here = described(own) if own else row.means
        return f'"{sentence}" {already}, and would mean {here}. Use other words.'

    def _alone(self, row: Woven, others: list[Woven], sentence: str) -> Command | None:
        """What a sentence means by this phrase alone; None where the row is a name."""
        if not row.rule.startswith(PHRASE):
            return None
        woven = weave(self._source, [*others, row])
        rules = {name: replace(rule, public=name == row.rule) for name, rule in woven.rules.items()}
        return Grammar(Source(woven.file, rules), checked=False).parse(sentence)


def described(command: Command) -> str:
    """A command in a few words, for a message: "water 50 g"."""
    if isinstance(command, Together):
        return ", then ".join(described(one) for one in command.commands)
    if isinstance(command, Incomplete):
        return f"{command.command.replace('_', ' ')} without its {command.missing}"
    found = command_object(command)
    found.pop("grams", None)
    said = [_said(key, value) for key, value in found.items() if value is not None]
    return " ".join(said).replace("_", " ")


def _said(key: str, value: object) -> str:
    if isinstance(value, bool):
        return f"{key} {str(value).lower()}"
    return f"{value} {_UNITS[key]}" if key in _UNITS else str(value)
