"""The words of the pages in one language: `grammar/<language>/pages.toml`."""

from collections.abc import Callable, Mapping
from typing import Any

from assistant.nlg.templates import Wordings, wanted_of

_PAGES = ("today", "batches", "lots", "year", "settings", "card", "hearing")
_TODAY = "batches dropped flour portions scrap lots"
_BATCH_HEADS = "batch opened lot recipe flour water hydration crumb portions scrap state"
_PLAN_HEADS = "start die recipe flour portions state"
_LOT_HEADS = "lot flour supplier moisture season batches likely range first_pour left notes"
_YEAR = "batches dropped flour scrap portions checks over"
_HEARD = "heard acted asked not_understood left_alone"

_WANTED: Mapping[str, str] = {
    "decimal_mark": "",
    "nothing": "",
    **{f"title.{one}": "" for one in _PAGES},
    "title.batch": "number:number",
    "title.lot": "lot:name",
    "title.problem": "",
    "clock_not_set": "",
    **{f"today.{one}": "" for one in _TODAY.split()},
    **{f"today.heading.{one}": "" for one in ("batches", "cold", "plan")},
    **{f"today.none.{one}": "" for one in ("batches", "cold", "plan")},
    "today.day": "day:name",
    "today.gone": "parts:name",
    **{f"head.{one}": "" for one in f"{_BATCH_HEADS} {_PLAN_HEADS} what by_when".split()},
    "cold.tray": "batch:number tray:number",
    "cold.dough": "batch:number celsius:number",
    "cold.clean": "",
    "cold.by": "time:name",
    "cold.about": "time:name",
    "cold.over": "time:name",
    "plan.service": "time:name day:name",
    **{f"plan.{one}": "" for one in ("made", "open", "to_come", "unknown")},
    "plan.late": "minutes:number",
    "plan.late_hours": "time:name",
    "batches.heading": "",
    "batches.none": "",
    **{
        f"ways.{one}": ""
        for one in (
            "label",
            "older",
            "newer",
            "year_before",
            "year_after",
            "day_before",
            "day_after",
            "all_batches",
            "sheet",
            "labels",
            "day_sheet",
        )
    },
    "ways.batch": "number:number",
    "batch.heading.asked": "",
    "batch.heading.facts": "",
    "batch.none.asked": "",
    **{f"batch.head.{one}": "" for one in ("time", "asked", "why", "answer")},
    **{f"lots.head.{one}": "" for one in _LOT_HEADS.split()},
    "lots.heading": "",
    "lots.empty": "",
    "lots.noise": "points:number",
    "lots.more": "points:number",
    "lots.less": "points:number",
    "lots.climbed": "batches:number",
    "lots.best_before": "day:name",
    "lots.unknown": "",
    "lots.range": "low:one_decimal high:one_decimal",
    "lots.in_recipe": "recipe:name",
    "lots.empty_lot": "",
    **{f"year.{one}": "" for one in _YEAR.split()},
    "year.none": "",
    "year.heading.lots": "",
    "year.no_lot": "",
    "year.of_judged": "count:number judged:number",
    **{f"year.head.{one}": "" for one in ("lot", "supplier", "batches", "flour")},
    "settings.note": "file:name",
    **{f"settings.head.{one}": "" for one in ("setting", "value", "from", "what")},
    "settings.default": "",
    "settings.own": "",
    "card.note": "",
    **{f"hearing.{one}": "" for one in _HEARD.split()},
    "hearing.note": "",
    "hearing.none": "",
    "hearing.share": "count:number pct:number",
    "hearing.heading.asked": "",
    "hearing.empty.asked": "",
    "hearing.clock": "",
    **{f"hearing.head.{one}": "" for one in ("why", "yes", "no", "none")},
}
"""Key -> the values that its wording may use, each with its format."""


class PageWords(Wordings):
    """All words of the pages in one language."""

    FILE = "pages.toml"
    UNKNOWN = "no page has a wording for {key}"

    @classmethod
    def wanted(cls) -> dict[str, dict[str, tuple[str, ...]]]:
        """Every wording that a language needs, with the values that it may use."""
        return wanted_of(_WANTED)

    @property
    def formats(self) -> Mapping[str, Callable[[Any], str]]:
        """Format -> how it writes a value."""
        return {
            **super().formats,
            "number": lambda value: f"{round(value, 1):g}".replace(".", self.text("decimal_mark")),
            "one_decimal": lambda value: f"{value:.1f}".replace(".", self.text("decimal_mark")),
        }
