"""Writes settings into `settings.toml`; comments, order and everything else of the file stay as they are."""

from pathlib import Path
from typing import Any

import tomlkit

from assistant.config.language.words_file import read_document, write_words
from assistant.config.settings import Settings

_HEAD = (
    "Settings of this kitchen. `crumbcall setup` writes here, and you may: hardware/SETTINGS.md has them all."
)


def keep_setting(file: Path, section: str, key: str, value: str | float | bool) -> Settings:
    """Write one setting, on disk when this returns; the settings as they are then.

    A file that could not be read with it is not written. Raises SettingsError.
    """
    document = read_document(file, _HEAD)
    if section not in document:
        document.add(section, tomlkit.table())
    table: Any = document[section]
    if isinstance(table, dict):  # what is no section is refused below, where it is named
        table[key] = value
    text = tomlkit.dumps(document)
    settings = Settings.taken(file, tomlkit.parse(text).unwrap())
    write_words(file, text)
    return settings
