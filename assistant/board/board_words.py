"""The words of the page in one language: `grammar/<language>/board.toml`."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any, Self, get_args

from assistant.batch.record.commands import Verdict
from assistant.batch.record.phases import Phase
from assistant.config.home import Home
from assistant.nlg.templates import Wordings, load_wordings

FILE = "board.toml"
PAGE = ("language", "title", "low", "target", "note", "lost")
"""Words that are in the page itself, whatever the station knows."""
LISTS: Mapping[str, tuple[str, ...]] = {
    "phase": tuple(phase.value for phase in Phase),
    "crumb": get_args(Verdict),
}
"""Closed lists whose values have a word each; a list is also the format that writes one of its values."""

_WANTED: Mapping[str, str] = {
    "decimal_mark": "",
    **{f"page.{name}": "" for name in PAGE},
    "batch.title": "number:number lot:name",
    **{f"status.{name}": "" for name in ("not_running", "asking", "listening", "not_listening")},
    **{f"unit.{name}": "" for name in ("left", "past_target", "past_high")},
    "batch.account": "water_g:number flour_g:number hydration_pct:number target_pct:number "
    "phase:phase crumb:crumb",
    "timer.digit": "name:name",
    "timer.tray": "batch:number tray:number",
    "timer.named": "name:name",
    "timer.ringing": "",
    "timer.sure": "time:name",
    "timer.unsure": "time:name",
    **{f"words.{name}.{value}": "" for name, values in LISTS.items() for value in values},
}
"""Key -> the values that its wording may use, each with its format."""


class BoardWords(Wordings):
    """All words of the page in one language."""

    @classmethod
    def load(cls, *paths: Path) -> Self:
        """Read one file or several; a later one changes single wordings of those before it.

        Raises GrammarError (one line) for a file that can't be read, and for a key, value or format that is
        missing or not known.
        """
        pairs = {key: [value.split(":") for value in values.split()] for key, values in _WANTED.items()}
        wanted = {key: {name: (how,) for name, how in values} for key, values in pairs.items()}
        return cls(load_wordings(paths, wanted, "the page has no wording for {key}"))

    @classmethod
    def of(cls, home: Home, language: str = "en") -> Self:
        """The words that ship, with the changes of this home. Raises GrammarError."""
        return cls.load(*home.language_files(FILE, language))

    @property
    def formats(self) -> Mapping[str, Callable[[Any], str]]:
        """Format -> how it writes a value."""
        return {
            "name": str,
            "number": lambda value: f"{value:.10g}".replace(".", self.text("decimal_mark")),
            **{name: partial(self._word, name) for name in LISTS},
        }

    def _word(self, closed_list: str, value: str) -> str:
        return self.text(f"words.{closed_list}.{value}")
