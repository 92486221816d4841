"""How words sound, as files have it: `pronunciations.toml`, and the words that weights were fine-tuned on."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.asr.lexicon import Pronunciations
from assistant.config.toml_file import read_struct
from assistant.config.toml_words import ALLOWED
from assistant.errors import GrammarError

FILE = "pronunciations.toml"
OTHER_WORDS = "other_words.toml"
"""File of words that stand in no sentence of the grammar, but in what is said otherwise."""

_Word = Annotated[list[str], Meta(min_length=1, extra={ALLOWED: 'a list of pronunciations, like ["w ʌ n"]'})]


class _Tables(Struct, frozen=True):
    """A file of pronunciations."""

    words: dict[str, _Word] = {}
    """Word -> its pronunciations, the commonest first: phones with spaces between them."""
    own: dict[str, _Word] = {}
    """Likewise; these go before all others."""


def read_pronunciations(file: Path, fine_tuned: Path | None = None) -> Pronunciations:
    """Pronunciations of a file. `fine_tuned`: file of the words that the weights in use were fine-tuned on.

    Raises GrammarError (one line).
    """
    tables = read_struct(file, _Tables, GrammarError)
    return Pronunciations(
        file,
        words=tables.words,
        own=tables.own,
        fine_tuned=None if fine_tuned is None else read_pronunciations(fine_tuned),
    )
