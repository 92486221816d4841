"""The table of replies: read from TOML, checked against all that can be announced, and spoken from."""

import string
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

from assistant.batch.record.announcements import SAYABLE, Announcement, Value
from assistant.config.toml_file import read_toml
from assistant.errors import GrammarError
from assistant.nlg.render import Piece, formats_of, sentence

Template = tuple[Piece, ...]
_BY, _OTHER = "by", "other"


@dataclass(frozen=True, slots=True)
class Reply:
    """The wording of one key: the one of `cases` that the value named `by` picks, else `other`."""

    other: Template
    by: str | None
    cases: Mapping[str, Template]

    def pick(self, values: Mapping[str, Value]) -> Template:
        """Wording for these values; a number picks by its nearest whole one."""
        if self.by is None:
            return self.other
        value = values[self.by]
        return self.cases.get(value if isinstance(value, str) else str(round(value)), self.other)


class Replies:
    """All that can be said in one language."""

    def __init__(self, replies: Mapping[str, Reply]) -> None:
        self._replies = dict(replies)

    @classmethod
    def load(cls, *paths: Path) -> Self:
        """Read one file or several; a later one changes single replies of those before it.

        Raises GrammarError (one line) where a file can't be read, a key of `SAYABLE` has no wording, or a
        key, value or format is none that there is.
        """
        found: dict[str, Any] = {}
        origin: dict[str, Path] = {}
        for path in paths:
            for key, wording in _read(path).items():
                if key not in SAYABLE:
                    raise GrammarError(f"{path}: nothing is announced as {key!r}; remove it or mend its name")
                both = isinstance(wording, dict) and isinstance(found.get(key), dict)
                found[key] = {**found[key], **wording} if both else wording
                origin[key] = path
        missing = [key for key in SAYABLE if key not in found]
        if missing:
            raise GrammarError(f"{paths[-1]}: no wording for {', '.join(missing)}; add it")
        return cls({key: _reply(origin[key], key, wording) for key, wording in found.items()})

    def render(self, announcement: Announcement) -> str:
        """The sentence to say."""
        template = self._replies[announcement.key].pick(announcement.values)
        return sentence(template, announcement.values)

    def fixed(self) -> list[str]:
        """Sentences that hang on no value: a voice may make their sound ahead of time."""
        wordings = [w for reply in self._replies.values() for w in (*reply.cases.values(), reply.other)]
        whole = (sentence(w, {}) for w in wordings if all(isinstance(piece, str) for piece in w))
        return sorted(set(whole))


def _read(path: Path) -> dict[str, Any]:
    return read_toml(path, GrammarError)


def _reply(path: Path, key: str, wording: object) -> Reply:
    place = f"{path}: {key}"
    if not isinstance(wording, dict):
        return Reply(_template(place, key, wording), None, {})
    by = wording.get(_BY)
    if not isinstance(by, str) or by not in SAYABLE[key]:
        raise GrammarError(f"{place}.{_BY}: {by!r} is no value of it; it has {_names(SAYABLE[key])}")
    if _OTHER not in wording:
        raise GrammarError(f"{place}: no {_OTHER!r} for the cases that are not listed; add {key}.{_OTHER}")
    cases = {
        case: _template(f"{place}.{case}", key, text)
        for case, text in wording.items()
        if case not in (_BY, _OTHER)
    }
    return Reply(_template(f"{place}.{_OTHER}", key, wording[_OTHER]), by, cases)


def _template(place: str, key: str, text: object) -> Template:
    """Split a wording at its braces."""
    if not isinstance(text, str) or not text.strip():
        raise GrammarError(f"{place}: {text!r} is no sentence; write it in quotes")
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
        if name not in SAYABLE[key]:
            raise GrammarError(f"{place}: value {name!r} is not known here; it has {_names(SAYABLE[key])}")
        if how not in formats_of(name):
            raise GrammarError(f"{place}: {name} can't be spoken as {how!r}; say {_names(formats_of(name))}")
        pieces.append((name, how or ""))
    return tuple(pieces)


def _names(names: Mapping[str, object] | frozenset[str]) -> str:
    return ", ".join(sorted(names)) or "none"
