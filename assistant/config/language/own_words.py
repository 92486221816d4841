"""`words.toml` beside the settings: a kitchen's own phrasings, names and pronunciations.

    [phrases]
    "chuck in {amount}" = "water {amount}"

    [names]
    "the red bag" = "lot R12"

    [sounds]
    ragu = ["ɹ æ g u"]

It is read row by row: what is wrong is left out and told, and the rest counts. A mistake in it never keeps a
station from starting.
"""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.asr.phones import PHONES
from assistant.config.toml_file import read_toml
from assistant.config.toml_words import did_you_mean, shown
from assistant.errors import SettingsError

FILE = "words.toml"
SECTIONS = ("phrases", "names", "sounds")
MOST_ROWS = 200
"""Phrases and names at most: each of them costs hearing."""


@dataclass(frozen=True, slots=True)
class OwnRow:
    """A phrase or a name as it was written."""

    said: str
    """What the cook says; small letters."""
    means: str
    """What that means: a sentence, or a kind and what it is a name of."""
    where: str
    """Its place, for messages."""


@dataclass(frozen=True, slots=True)
class OwnWords:
    """What a kitchen wrote into its `words.toml`."""

    file: Path
    phrases: tuple[OwnRow, ...] = ()
    names: tuple[OwnRow, ...] = ()
    sounds: Mapping[str, Sequence[str]] = field(default_factory=dict)
    """Word -> its pronunciations, phones with spaces between."""
    problems: tuple[str, ...] = ()
    """What was left out: a line each."""


def plain(text: str) -> str:
    """A phrase as it is compared: small letters, composed accents, single spaces, one kind of apostrophe."""
    composed = unicodedata.normalize("NFC", text).casefold().replace("\u2019", "'")
    return " ".join(composed.split())


def read_own_words(file: Path) -> OwnWords:
    """Own words of a file; none where there is no file. Nothing is raised: `problems` says what is wrong."""
    try:
        found = read_toml(file, optional=True)
        text = file.read_text(encoding="utf-8-sig") if found else ""
    except (SettingsError, OSError, UnicodeDecodeError) as problem:
        return OwnWords(file, problems=(str(problem),))
    reader = _Reader(file, text)
    for name, section in found.items():
        if name not in SECTIONS:
            reader.refuse(None, f"there is no section [{name}]; {did_you_mean(name, SECTIONS)}")
        elif not isinstance(section, dict):
            reader.refuse(
                None, f"{name} = {shown(section)} is not a section; write [{name}] above its lines."
            )
    tables = {name: found[name] for name in SECTIONS if isinstance(found.get(name), dict)}
    phrases = reader.rows("phrases", tables.get("phrases", {}))
    names = reader.rows("names", tables.get("names", {}))
    for row in (*phrases, *names)[MOST_ROWS:]:
        reader.problems.append(f"{row.where} is one of more than {MOST_ROWS}; remove what nobody says.")
    sounds = reader.sounds(tables.get("sounds", {}))
    kept = max(0, MOST_ROWS - len(phrases))
    return OwnWords(file, phrases[:MOST_ROWS], names[:kept], sounds, tuple(reader.problems))


def checked_sounds(ways: Any) -> tuple[str, ...]:
    """Pronunciations as written. Raises SettingsError: what is wrong, without the place."""
    if (
        not isinstance(ways, list)
        or not ways
        or not all(isinstance(way, str) and way.split() for way in ways)
    ):
        raise SettingsError(
            f'sounds {shown(ways)}, allowed is a list of pronunciations, like ["w ʌ n"]; change it.'
        )
    for phone in (phone for way in ways for phone in way.split()):
        if phone not in PHONES:
            known = " ".join(sorted(PHONES, key=lambda phone: (len(phone), phone)))
            raise SettingsError(f'has the phone "{phone}", allowed are {known}; write spaces between them.')
    return tuple(" ".join(way.split()) for way in ways)


class _Reader:
    """Reads the tables of one file, and collects what is wrong."""

    def __init__(self, file: Path, text: str) -> None:
        self._file = file
        self._lines = _lines(text)
        self.problems: list[str] = []

    def refuse(self, where: str | None, problem: str) -> None:
        """Keep a problem."""
        self.problems.append(f"{where or self._file}: {problem}")

    def rows(self, section: str, table: Mapping[str, Any]) -> tuple[OwnRow, ...]:
        """The rows of phrases or names."""
        found: dict[str, OwnRow] = {}
        for key, value in table.items():
            where = self._where(section, key)
            said = plain(key)
            if not isinstance(value, str) or not value.strip():
                self.refuse(
                    where, f"means {shown(value)}, allowed is text in quotes, not empty; change or remove it."
                )
            elif said in found:
                self.refuse(where, f"is there twice, first at {found[said].where}; remove one.")
            else:
                found[said] = OwnRow(said, plain(value), where)
        return tuple(found.values())

    def sounds(self, table: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
        """Pronunciations; one may stand alone instead of in a list."""
        found: dict[str, tuple[str, ...]] = {}
        for key, value in table.items():
            ways = [value] if isinstance(value, str) else value
            try:
                found[plain(key)] = checked_sounds(ways)
            except SettingsError as problem:
                self.refuse(self._where("sounds", key), str(problem))
        return found

    def _where(self, section: str, key: str) -> str:
        line = self._lines.get((section, key))
        place = f"{self._file}, line {line}" if line else f"{self._file} [{section}]"
        return f'{place}: "{key}"'


_HEADER = re.compile(r"\s*\[\s*(?P<name>\w+)\s*\]")
_KEY = re.compile(r"""\s*(?:"(?P<basic>[^"\\]*)"|'(?P<literal>[^']*)'|(?P<bare>[\w-]+))\s*=""")


def _lines(text: str) -> dict[tuple[str, str], int]:
    """Section and key -> the line where it stands, of the keys that are written plainly."""
    section, found = "", {}
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            section = header["name"]
        elif key := _KEY.match(line):
            found[section, key["basic"] or key["literal"] or key["bare"] or ""] = number
    return found
