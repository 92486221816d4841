"""The words of the pages in one language: `grammar/<language>/board.toml`."""

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from typing import Any, ClassVar, get_args

from assistant.batch.record.commands import Verdict
from assistant.batch.record.phases import Phase
from assistant.board.glance import Hearing
from assistant.nlg.templates import Wordings, wanted_of
from assistant.ports import Asking

PAGE = (
    "language", "title", "note", "loading", "no_script", "lost_undated", "state", "clocks", "answers",
    "buttons",
)  # fmt: skip
"""Words that are in the page itself, whatever the station knows."""
NAV = ("wall", "today", "batches", "lots", "year", "hearing", "card", "settings")
"""Pages that have a link, by the names of their routes."""
BUTTONS = (
    "yes", "no", "got_it", "poured", "floured", "mix", "rest", "dry", "ready", "wet", "extruding", "die_warm",
    "tray", "close", "undo", "listen", "done", "back", "cancel",
    "addition",
)  # fmt: skip
"""Buttons of the page, by their names."""
SLOTS = tuple(one.value for one in Asking if one not in (Asking.NOTHING, Asking.ANSWER, Asking.CRUMB))
LISTS: Mapping[str, tuple[str, ...]] = {
    "phase": tuple(phase.value for phase in Phase),
    "crumb": get_args(Verdict),
}
"""Closed lists whose values have a word each; a list is also the format that writes one of its values."""
PAIRING = ("title", "link", "how", "code", "send", "wrong", "done", "shown", "too_many")

_WANTED: Mapping[str, str] = {
    "decimal_mark": "",
    **{f"page.{name}": "" for name in PAGE},
    "page.lost": "time:name",
    "page.no_clock": "minutes:name",
    **{f"nav.{name}": "" for name in NAV},
    **{f"hearing.{name}": "" for name in get_args(Hearing)},
    "hearing.gone": "time:name",
    "hearing.gone_undated": "",
    "hearing.old": "time:name minutes:name",
    "hearing.old_undated": "minutes:name",
    "hearing.old_unknown": "",
    "trouble.not_written": "",
    "trouble.parts": "parts:name",
    "practice.title": "",
    "practice.line": "",
    "practice.say": "said:name",
    "batch.title": "number:number lot:name",
    "batch.title_recipe": "number:number lot:name recipe:name",
    "batch.account": "water_g:number flour_g:number hydration_pct:number target_pct:number "
    "phase:phase crumb:crumb",
    "batch.die": "die:name",
    "batch.contains": "allergens:name",
    "batch.traces": "allergens:name",
    **{f"gauge.{name}": "pct:number" for name in ("low", "target", "high", "value", "from")},
    "gauge.text": "pct:number low:number target:number high:number",
    **{
        f"head.{name}": ""
        for name in ("to_pour", "to_mix", "to_rest", "over_high", "flour", "squeeze", "extrude", "open", "up")
    },
    "head.dough": "portions:number",
    "head.addition": "name:name",
    "head.planned": "die:name",
    "lead.planned": "start:name",
    "lead.late": "minutes:number",
    "lead.old_plan": "days:number",
    "then.mix": "time:name",
    "then.rescue": "flour:grams",
    **{
        f"then.{name}": ""
        for name in ("say_mix", "squeeze", "verdict", "extruding", "trim", "close", "got_it", "walk")
    },
    "then.in": "said:name",
    "then.new_batch": "",
    "answer.yes": "",
    "answer.no": "",
    **{f"answer.{name}": "" for name in SLOTS},
    "late": "die:name start:name more:number",
    "last.heard": "text:name",
    "last.missed": "text:name",
    "last.said": "text:name",
    "timer.digit": "name:name",
    "timer.tray": "batch:number tray:number",
    "timer.named": "name:name",
    "timer.dough": "",
    "timer.clean": "",
    "timer.over": "time:name",
    "timer.ringing": "time:name",
    "timer.unsure": "time:name",
    "timer.cold_by": "time:name",
    "timer.by": "time:name",
    "timer.cold_in": "time:name",
    "timer.in": "time:name",
    "timer.more": "count:name time:name",
    "timer.rings_now": "names:name",
    **{f"button.{name}": "grams:grams" if name in ("poured", "floured") else "" for name in BUTTONS},
    "button.addition": "grams:grams name:name",
    **{f"pairing.{name}": "code:name" if name == "shown" else "" for name in PAIRING},
    **{f"words.{name}.{value}": "" for name, values in LISTS.items() for value in values},
}
"""Key -> the values that its wording may use, each with its format."""


class BoardWords(Wordings):
    """All words of the pages in one language."""

    FILE = "board.toml"
    UNKNOWN = "the page has no wording for {key}"
    RETIRED: ClassVar[tuple[str, ...]] = (
        "status", "unit", "batch.exit", "timer.cold", "timer.sure", "page.low", "page.target",
        "batch.recipe",
    )  # fmt: skip

    @classmethod
    def wanted(cls) -> dict[str, dict[str, tuple[str, ...]]]:
        """Every wording that a language needs, with the values that it may use."""
        return wanted_of(_WANTED)

    @property
    def formats(self) -> Mapping[str, Callable[[Any], str]]:
        """Format -> how it writes a value."""
        return {
            **super().formats,
            "number": lambda value: f"{value:.10g}".replace(".", self.text("decimal_mark")),
            "grams": lambda value: f"{round(value)}",
            **{name: partial(self._word, name) for name in LISTS},
        }

    def allergens(self, names: Iterable[str]) -> str:
        """Allergens as this language says them, in a row."""
        return ", ".join(self._names.get(f"allergen {name}", self.name(name)) for name in names)

    def _word(self, closed_list: str, value: str) -> str:
        return self.text(f"words.{closed_list}.{value}")
