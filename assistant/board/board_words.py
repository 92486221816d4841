"""The words of the page in one language: `grammar/<language>/board.toml`."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, get_args

from assistant.batch.record.commands import Verdict
from assistant.batch.record.phases import Phase
from assistant.nlg.templates import Wordings

PAGE = ("language", "title", "low", "target", "note", "lost")
"""Words that are in the page itself, whatever the station knows."""
NAV = ("wall", "today", "batches", "lots", "year", "hearing", "card", "settings")
"""Pages that have a link, by the names of their routes."""
LISTS: Mapping[str, tuple[str, ...]] = {
    "phase": tuple(phase.value for phase in Phase),
    "crumb": get_args(Verdict),
}
"""Closed lists whose values have a word each; a list is also the format that writes one of its values."""

_WANTED: Mapping[str, str] = {
    "decimal_mark": "",
    **{f"page.{name}": "" for name in PAGE},
    **{f"nav.{name}": "" for name in NAV},
    "batch.title": "number:number lot:name",
    **{f"status.{name}": "" for name in ("not_running", "asking", "listening", "not_listening")},
    **{f"unit.{name}": "" for name in ("left", "past_target", "past_high")},
    "batch.account": "water_g:number flour_g:number hydration_pct:number target_pct:number "
    "phase:phase crumb:crumb",
    "batch.die": "die:name",
    "batch.exit": "celsius:number",
    "timer.digit": "name:name",
    "timer.tray": "batch:number tray:number",
    "timer.named": "name:name",
    "timer.cold": "celsius:number",
    "timer.clean": "",
    "timer.over": "",
    "timer.ringing": "",
    "timer.sure": "time:name",
    "timer.unsure": "time:name",
    **{f"words.{name}.{value}": "" for name, values in LISTS.items() for value in values},
}
"""Key -> the values that its wording may use, each with its format."""


class BoardWords(Wordings):
    """All words of the page in one language."""

    FILE = "board.toml"
    UNKNOWN = "the page has no wording for {key}"

    @classmethod
    def wanted(cls) -> dict[str, dict[str, tuple[str, ...]]]:
        """Every wording that a language needs, with the values that it may use."""
        pairs = {key: [value.split(":") for value in values.split()] for key, values in _WANTED.items()}
        return {key: {name: (how,) for name, how in values} for key, values in pairs.items()}

    @property
    def formats(self) -> Mapping[str, Callable[[Any], str]]:
        """Format -> how it writes a value."""
        return {
            **super().formats,
            "number": lambda value: f"{value:.10g}".replace(".", self.text("decimal_mark")),
            **{name: partial(self._word, name) for name in LISTS},
        }

    def _word(self, closed_list: str, value: str) -> str:
        return self.text(f"words.{closed_list}.{value}")
