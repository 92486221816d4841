"""The files that a group shares: lots, recipes, ingredients, allergens, words, and the settings of the work.

Each has versions on the server, which are only added to. What is a station's own (its name, its pins, its
microphone) is never among them.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from assistant.config.allergens.known import OWN_FILE as ALLERGENS_FILE
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.home import Home
from assistant.config.language.own_words import FILE as WORDS_FILE
from assistant.config.pantry import OWN_FILE as PANTRY_FILE
from assistant.config.recipes import OWN_FOLDER
from assistant.errors import SyncError
from assistant.sync.link import Server, told
from assistant.sync.member import Member
from assistant.sync.sending import Head

if TYPE_CHECKING:
    from psycopg import Connection

SHARED_SETTINGS = ("batch", "food_safety", "cooking", "timers", "label", "plan")
"""Sections of settings.toml that are the kitchen's, not the station's."""
SETTINGS = "settings.toml"
MOST_CHARACTERS = 1_000_000


@dataclass(frozen=True, slots=True)
class Document:
    """A file of the group at its newest version."""

    name: str
    """Its path beside the settings file, with / between."""
    version: int
    content: str
    station: str
    """Who wrote this version."""

    @property
    def digest(self) -> str:
        """SHA-256 of its content."""
        return digest_of(self.content)


def digest_of(content: str) -> str:
    """SHA-256 of a file's content."""
    return hashlib.sha256(content.encode()).hexdigest()


def is_shared(name: str) -> bool:
    """Whether a file of this name may be a group's: nothing else is ever written here."""
    if name in (SETTINGS, LOTS_FILE, WORDS_FILE, PANTRY_FILE, ALLERGENS_FILE):
        return True
    folder, _, file = name.partition("/")
    stem, _, kind = file.partition(".")
    return folder == OWN_FOLDER and kind == "toml" and stem.replace("_", "").replace("-", "").isalnum()


def files_here(home: Home) -> dict[str, str]:
    """Content of each file of this station that a group shares. Raises SyncError."""
    found: dict[str, str] = {}
    paths = [home.config / name for name in (LOTS_FILE, WORDS_FILE, PANTRY_FILE, ALLERGENS_FILE)]
    paths += sorted((home.config / OWN_FOLDER).glob("*.toml"))
    for path in paths:
        name = path.relative_to(home.config).as_posix()
        if path.is_file() and is_shared(name):
            found[name] = _read(path)
    if shared := shared_settings(home.settings_file):
        found[SETTINGS] = shared
    return found


def shared_settings(file: Path) -> str:
    """The sections of a settings file that are the kitchen's, as text; empty where it has none.

    Settings in their order and without comments: two files that say the same are the same.
    """
    if not file.is_file():
        return ""
    found = _parse(file, _read(file)).unwrap()
    shared = {
        section: dict(sorted(found[section].items()))
        for section in SHARED_SETTINGS
        if isinstance(found.get(section), dict)
    }
    return tomlkit.dumps(shared) if shared else ""


def with_settings(file: Path, shared: str) -> tuple[str, list[str]]:
    """Text of a settings file with what a group shares; and what it says otherwise itself, which is kept.

    Comments and all else stay. Raises SyncError.
    """
    document = _parse(file, _read(file) if file.is_file() else "")
    differ: list[str] = []
    for section, values in _parse(file, shared).unwrap().items():
        if section not in SHARED_SETTINGS or not isinstance(values, dict):
            continue
        if section not in document:
            document.add(section, tomlkit.table())
        table: Any = document[section]
        for key, value in values.items():
            if key not in table:
                table[key] = value
            elif table[key] != value:
                differ.append(f"[{section}] {key}")
    return tomlkit.dumps(document), differ


def without(file: Path, settings: Iterable[str]) -> str:
    """Text of a settings file without these settings, each "[section] key"."""
    document = _parse(file, _read(file))
    for one in settings:
        section, _, key = one.removeprefix("[").partition("] ")
        table: Any = document[section]
        table.remove(key)
    return tomlkit.dumps(document)


def newest(link: "Connection[tuple[object, ...]]", server: Server) -> list[Document]:
    """The files of the group, each at its newest version. Raises SyncError."""
    with told(server):
        found = link.execute(
            """SELECT DISTINCT ON (d.name) d.name, d.version, d.content, s.name
            FROM crumbcall.documents d JOIN crumbcall.stations s USING (station)
            ORDER BY d.name, d.version DESC"""
        ).fetchall()
        link.commit()
    rows = [Document(str(name), int(str(v)), str(text), str(who)) for name, v, text, who in found]
    return [one for one in rows if is_shared(one.name)]


def share(
    link: "Connection[tuple[object, ...]]",
    server: Server,
    me: Member,
    head: Head,
    content: Mapping[str, tuple[int, str]],
) -> None:
    """Give the group new versions of files: of each name its version and content. All or none.

    Raises SyncError where another station gave one of them in the meantime.
    """
    for name, (_, text) in content.items():
        if len(text) > MOST_CHARACTERS:
            raise SyncError(f"{name} has {len(text)} characters, allowed are {MOST_CHARACTERS}; shorten it.")
    with told(server), link.transaction():
        link.execute("SELECT set_config('crumbcall.installation', %s, true)", (me.installation,))
        for name, (version, text) in content.items():
            link.execute(
                "INSERT INTO crumbcall.documents (name, version, content, station) VALUES (%s, %s, %s, %s)",
                (name, version, text, head.station),
            )


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SyncError(f"{path} can't be read ({error}); nothing is shared or taken over.") from error


def _parse(file: Path, text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
    except TOMLKitError as error:
        raise SyncError(f"{file} can't be read ({error}); mend it first.") from error
