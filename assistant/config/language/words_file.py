"""Writes rows into `words.toml` and takes them out; comments, order and everything else stay as they are."""

import os
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from assistant.config.language.own_words import SECTIONS, plain
from assistant.errors import SettingsError

_HEAD = "The kitchen's own words. `crumbcall words` writes here, and you may: crumbcall words --help."


def with_rows(file: Path, rows: Iterable[tuple[str, str, str | Sequence[str]]]) -> str:
    """Text of the file with these rows, each in the place of one with the same words in its section.

    A row is its section, key and value. Raises SettingsError.
    """
    document = read_document(file, _HEAD)
    for section, key, value in rows:
        if section not in document:
            document.add(section, tomlkit.table())
        table = _table(file, document, section)
        same = next((one for one in table if plain(one) == key), key)
        table[same] = value if isinstance(value, str) else list(value)
    return tomlkit.dumps(document)


def without_row(file: Path, key: str) -> str | None:
    """Text of the file without what is said so; None where there is no such row. Raises SettingsError.

    Pronunciations of words that nothing else in the file says go with it.
    """
    document = read_document(file, _HEAD)
    tables = {name: _table(file, document, name) for name in SECTIONS if name in document}
    rows = [table for name, table in tables.items() if name != "sounds"]
    found = [(table, one) for table in rows for one in table if plain(one) == key]
    for table, one in found:
        del table[one]
    said = {word for table in rows for one in table for word in plain(one).split()}
    sounds = tables.get("sounds", {})
    for word in [one for one in sounds if plain(one) in key.split() and plain(one) not in said]:
        del sounds[word]
    return tomlkit.dumps(document) if found else None


def write_words(file: Path, text: str) -> None:
    """Put a text into the place of the file: whole, or not at all. Raises SettingsError."""
    temporary: Path | None = None
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile("w", encoding="utf-8", dir=file.parent, delete=False) as written:
            temporary = Path(written.name)
            written.write(text)
            written.flush()
            os.fsync(written.fileno())
        temporary.chmod(file.stat().st_mode if file.exists() else 0o644)
        temporary.replace(file)
    except OSError as error:
        if temporary is not None:
            with suppress(OSError):
                temporary.unlink()
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None


def read_document(file: Path, head: str) -> tomlkit.TOMLDocument:
    """The file to be edited; where there is none, a new one with this comment. Raises SettingsError."""
    try:
        return tomlkit.parse(file.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError:
        return tomlkit.parse(f"# {head}\n\n")
    except OSError as error:
        raise SettingsError(f"{file} can't be read ({error.strerror}); make it a readable file.") from None
    except UnicodeDecodeError as error:
        raise SettingsError(f"{file} is not UTF-8 text (byte {error.start}); save it as UTF-8.") from None
    except TOMLKitError as error:
        raise SettingsError(f"{file} is not TOML: {error}; mend it first.") from None


def _table(file: Path, document: tomlkit.TOMLDocument, section: str) -> Table | dict[str, Any]:
    table = document[section]
    if not isinstance(table, dict):
        raise SettingsError(f"{file}: {section} is not a section; write [{section}] above its lines.")
    return table
