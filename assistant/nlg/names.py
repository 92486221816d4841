"""`names.toml`: what a language says for the English names of walk-throughs, recipes, shapes and timers."""

from collections.abc import Iterable
from pathlib import Path

from assistant.config.toml_file import Place, read_toml
from assistant.config.toml_words import shown
from assistant.errors import GrammarError

FILE = "names.toml"


def read_names(files: Iterable[Path]) -> dict[str, str]:
    """Names by their English ones; a later file's count. A file may be missing. Raises GrammarError."""
    found: dict[str, str] = {}
    for file in files:
        for name, said in read_toml(file, GrammarError, optional=True).items():
            if not isinstance(said, str) or not said.strip():
                place = Place(file, GrammarError).inside(name)
                raise place.refuse(f"= {shown(said)}, allowed is text in quotes, not empty; change it.")
            found[name] = said
    return found
