"""`talk.toml` of a language: what is said in a kitchen all day, to compare new phrases with."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.config.toml_file import read_struct
from assistant.errors import GrammarError

FILE = "talk.toml"

_Text = Annotated[str, Meta(min_length=1)]


class Talk(Struct, frozen=True):
    """Common talk."""

    sentences: list[_Text]
    """As a recogniser would write them."""
    words: dict[str, list[_Text]] = {}
    """Word -> its pronunciations, of the words that the pronunciations of the grammar may lack."""


def read_talk(file: Path) -> Talk:
    """Talk of a TOML file. Raises GrammarError (one line)."""
    return read_struct(file, Talk, GrammarError)
