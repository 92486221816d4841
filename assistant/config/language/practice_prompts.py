"""What the cook is asked to say in a practice, as `practice.toml` of a language has it."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.config.toml_file import read_struct
from assistant.config.toml_words import EXAMPLE

FILE = "practice.toml"

_Text = Annotated[str, Meta(min_length=1)]


class Prompts(Struct, frozen=True):
    """Sentences in their order."""

    prompts: Annotated[tuple[_Text, ...], Meta(min_length=1, extra={EXAMPLE: 'prompts = ["mix", "undo"]'})]


def read_prompts(file: Path) -> tuple[str, ...]:
    """Sentences of a TOML file. Raises SettingsError (one line)."""
    return read_struct(file, Prompts).prompts
