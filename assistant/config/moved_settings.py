"""Settings that stand in another section than they did once: still read where they were, and that is said."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from assistant.config.toml_file import read_toml

MOVED = {("batch", "cook"): ("station", "cook"), ("recogniser", "cook"): ("station", "cook")}
"""Section and key that a setting had -> those of today. Of two that became one the first that says something
counts."""


def in_place(found: Mapping[str, Any]) -> dict[str, Any]:
    """What a file says, each setting where it stands today; what stands there already counts more."""
    today = {name: dict(one) if isinstance(one, Mapping) else one for name, one in found.items()}
    moved: dict[tuple[str, str], Any] = {}
    for (section, key), place in MOVED.items():
        table = today.get(section)
        if isinstance(table, dict) and key in table:
            moved[place] = moved.get(place) or table.pop(key)
            table.pop(key, None)
    for (section, key), value in moved.items():
        table = today.setdefault(section, {})
        if isinstance(table, dict):
            table.setdefault(key, value)
    return today


def moved_in(file: Path) -> list[str]:
    """A line for each setting of a file that stands where it did once. Raises SettingsError."""
    found = read_toml(file, optional=True)
    return [
        f"{file}: [{section}] {key} is [{new}] {name} now, whose voice it is fitted to and who judges the "
        "crumb; it is read, but write it there."
        for (section, key), (new, name) in MOVED.items()
        if isinstance(found.get(section), Mapping) and key in found[section]
    ]
