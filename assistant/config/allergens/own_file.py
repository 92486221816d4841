"""Writes what the kitchen says of an ingredient into its `allergens.toml`; comments and order stay."""

from collections.abc import Sequence
from pathlib import Path

import tomlkit

from assistant.config.allergens.known import tidy_name
from assistant.config.language.words_file import read_document, write_words

_HEAD = (
    "Allergens of the kitchen's own ingredients and flours: `crumbcall allergens` writes here, and you may."
)


def keep_allergens(file: Path, name: str, words: Sequence[str] | None) -> None:
    """Put a row into the place of one of the same name; None takes it out. Raises SettingsError."""
    document = read_document(file, _HEAD)
    same = next((one for one in document if tidy_name(one) == name), name)
    if words is None:
        document.pop(same, None)
    else:
        document[same] = list(words)
    write_words(file, tomlkit.dumps(document))
