"""The words that ship, read once."""

from functools import cache

from assistant.config.resources import grammar_folder
from assistant.sheets import SheetWords


@cache
def english() -> SheetWords:
    """The English words of the sheets."""
    return SheetWords.load(grammar_folder() / "sheets.toml")
