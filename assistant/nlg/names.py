"""`names.toml`: what a language says for the English names of walk-throughs, recipes, shapes and timers."""

import tomllib
from collections.abc import Iterable
from pathlib import Path

from assistant.errors import GrammarError

FILE = "names.toml"


def read_names(files: Iterable[Path]) -> dict[str, str]:
    """Names by their English ones; a later file's count. A file may be missing. Raises GrammarError."""
    found: dict[str, str] = {}
    for file in files:
        try:
            names = tomllib.loads(file.read_bytes().decode("utf-8-sig"))
        except FileNotFoundError:
            continue
        except OSError as error:
            raise GrammarError(
                f"{file} can't be read ({error.strerror}); make it readable or move it away."
            ) from error
        except ValueError as error:
            raise GrammarError(f"{file} is not TOML: {error}; mend it, or move it away.") from error
        for name, said in names.items():
            if not isinstance(said, str) or not said.strip():
                raise GrammarError(f'{file}: "{name}" = {said!r}, allowed is text in quotes; change it.')
            found[name] = said
    return found
