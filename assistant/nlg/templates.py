"""Wordings as a language's TOML files have them: templates with values in braces, read and checked.

A file is a tree of sections; a wording's key is its way from the top, with dots between. What can't be used
is one line: file, place, what was found, what to do.
"""

import string
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, Self

from assistant.config.home import Home
from assistant.config.toml_file import read_toml
from assistant.errors import GrammarError
from assistant.nlg.names import FILE as NAMES_FILE
from assistant.nlg.names import read_names

Piece = str | tuple[str, str]
"""Plain text, or a value's name and the format that writes it."""
Template = tuple[Piece, ...]
Wanted = Mapping[str, Mapping[str, Collection[str]]]
"""Every key that needs a wording -> the values that it may use -> the formats of each."""

_BY, _OTHER = "by", "other"


@dataclass(frozen=True, slots=True)
class Wording:
    """The wording of one key."""

    other: Template
    """What counts where no case is picked."""
    by: str | None
    """Name of the value that picks a case; None: there are no cases."""
    cases: Mapping[str, Template]

    def pick(self, values: Mapping[str, Any]) -> Template:
        """The template for these values."""
        return self.other if self.by is None else self.cases.get(case_of(values[self.by]), self.other)


def case_of(value: Any) -> str:
    """The case that a value picks: a name itself, "none", "yes", "no", a number rounded, else "other"."""
    if isinstance(value, str):
        return value
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(round(value)) if isinstance(value, int | float) else _OTHER


def wanted_of(table: Mapping[str, str]) -> dict[str, dict[str, tuple[str, ...]]]:
    """The `wanted` of a table: key -> the values that its wording may use, as "name:format name:format"."""
    pairs = {key: [value.split(":") for value in values.split()] for key, values in table.items()}
    return {key: {name: (how,) for name, how in values} for key, values in pairs.items()}


class Wordings:
    """All wordings of one file in one language, to be filled with values."""

    FILE: ClassVar[str]
    """Name of the file."""
    UNKNOWN: ClassVar[str]
    """What is wrong with a key that is not wanted, with `{key}` in it."""
    RETIRED: ClassVar[Collection[str]] = ()
    """Keys, or sections of them, that there were once: a file that still has them is read without them."""

    def __init__(self, wordings: Mapping[str, Wording], names: Mapping[str, str] | None = None) -> None:
        self._wordings = dict(wordings)
        self._names = dict(names or {})

    @classmethod
    def wanted(cls) -> Wanted:
        """Every key that needs a wording, with the values that it may use and their formats."""
        raise NotImplementedError

    @classmethod
    def load(cls, *paths: Path, names: Mapping[str, str] | None = None) -> Self:
        """Read one file or several; a later one changes single wordings of those before it.

        `names`: what the language says for English names. Raises GrammarError (one line) for a file that
        can't be read, and for a key, value or format that is missing or not known.
        """
        return cls(load_wordings(paths, cls.wanted(), cls.UNKNOWN, cls.RETIRED), names)

    @classmethod
    def of(cls, home: Home, language: str) -> Self:
        """The words that ship in a language, with the changes of this home. Raises GrammarError."""
        names = read_names(home.language_files(NAMES_FILE, language))
        return cls.load(*home.language_files(cls.FILE, language), names=names)

    @property
    def formats(self) -> Mapping[str, Callable[[Any], str]]:
        """Format -> how it writes a value."""
        return {"name": self.name}

    def name(self, value: Any) -> str:
        """A name as this language says it; as it is where it has no word of its own."""
        return self._names.get(str(value), str(value))

    def text(self, key: str, **values: Any) -> str:
        """The wording of a key with these values put in."""
        formats = self.formats
        return "".join(
            piece if isinstance(piece, str) else formats[piece[1]](values[piece[0]])
            for piece in self._wordings[key].pick(values)
        )


def load_wordings(
    paths: Collection[Path], wanted: Wanted, unknown: str, retired: Collection[str] = ()
) -> dict[str, Wording]:
    """Read one file or several; a later one changes single wordings of those before it.

    `unknown` says what is wrong with a key that is not wanted, with `{key}` in it; `retired` keys and
    sections are left out. Raises GrammarError (one line) where a file can't be read, a key has no wording, or
    a key, value or format is not wanted.
    """
    found: dict[str, Any] = {}
    origin: dict[str, Path] = {}
    for path in paths:
        for key, wording in _flat(read_toml(path, GrammarError), "", wanted):
            if any(f"{key}.".startswith(f"{one}.") for one in retired):
                continue
            if key not in wanted:
                raise GrammarError(f"{path}: {unknown.format(key=repr(key))}; remove it or mend its name")
            both = isinstance(wording, dict) and isinstance(found.get(key), dict)
            found[key] = {**found[key], **wording} if both else wording
            origin[key] = path
    missing = [key for key in wanted if key not in found]
    if missing:
        last = list(paths)[-1]
        raise GrammarError(f"{last}: no wording for {', '.join(missing)}; add it")
    return {key: _wording(f"{origin[key]}: {key}", found[key], wanted[key]) for key in wanted}


def _flat(table: Mapping[str, Any], before: str, wanted: Wanted) -> Iterator[tuple[str, Any]]:
    """Keys with their wordings, those inside sections by their whole way."""
    for name, value in table.items():
        key = f"{before}{name}"
        if isinstance(value, dict) and any(one.startswith(f"{key}.") for one in wanted):
            yield from _flat(value, f"{key}.", wanted)
        else:
            yield key, value


def _wording(place: str, wording: object, values: Mapping[str, Collection[str]]) -> Wording:
    if not isinstance(wording, dict):
        return Wording(_template(place, wording, values), None, {})
    by = wording.get(_BY)
    if not isinstance(by, str) or by not in values:
        raise GrammarError(f"{place}.{_BY}: {by!r} is not a value of it; it has {_names(values)}")
    if _OTHER not in wording:
        key = place.rpartition(" ")[2]
        raise GrammarError(f"{place}: no {_OTHER!r} for the cases that are not listed; add {key}.{_OTHER}")
    cases = {
        case: _template(f"{place}.{case}", text, values)
        for case, text in wording.items()
        if case not in (_BY, _OTHER)
    }
    return Wording(_template(f"{place}.{_OTHER}", wording[_OTHER], values), by, cases)


def _template(place: str, text: object, values: Mapping[str, Collection[str]]) -> Template:
    """Split a wording at its braces."""
    if not isinstance(text, str) or not text.strip():
        raise GrammarError(f"{place}: {text!r} is not a sentence; write it in quotes")
    try:
        parts = list(string.Formatter().parse(text))
    except ValueError as error:
        raise GrammarError(f"{place}: a brace stands alone; a value is written {{name:format}}") from error
    pieces: list[Piece] = []
    for plain, name, how, _conversion in parts:
        if plain:
            pieces.append(plain)
        if name is None:
            continue
        if name not in values:
            raise GrammarError(f"{place}: value {name!r} is not known here; it has {_names(values)}")
        if how not in values[name]:
            raise GrammarError(f"{place}: {name} can't be written as {how!r}; write {_names(values[name])}")
        pieces.append((name, how or ""))
    return tuple(pieces)


def _names(names: Collection[str]) -> str:
    return ", ".join(sorted(names)) or "none"
