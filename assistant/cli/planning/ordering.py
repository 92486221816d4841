"""What to order for a week, from the batches of the journal. Pure; masses in grams."""

import math
from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta, tzinfo

from assistant.batch.record.events import Event
from assistant.batch.record.rules import DayFigures
from assistant.dough.calculators.weekly_use import LEAST_WEEKS, WeeklyUse, weekly_use
from assistant.journal.summaries import BatchSummary
from assistant.ports import Stamp
from assistant.sheets.build import build_sheet
from assistant.sheets.day_account import day_of
from assistant.sheets.layout import columns

FLOUR, WHOLE_EGG = "flour", "whole egg"
EGG_G = 50.0
"""A whole egg without its shell (g): four are 200 g, DPR 187/2001 art. 8."""
KILO = 1000.0
_WEEK = timedelta(days=7)

Read = Callable[[int], Iterable[tuple[Stamp, Event]]]
"""Number of a batch -> its events."""


def weeks_of(
    batches: Sequence[BatchSummary], read: Read, wall: float, zone: tzinfo | None = None
) -> dict[str, list[float]]:
    """Flour and additions (g) of each whole week from Monday, oldest first; weeks without a batch are 0.

    Neither the week of the first batch nor the one that `wall` is in is whole. What a dropped batch took is
    used too; one that was taken back took nothing. Additions are those that were told, as they were
    corrected; of which nobody said that it went in or stayed out counts by its share in the recipe.
    """
    used = [(_monday(one.opened_wall, zone), one) for one in batches if one.outcome != "taken back"]
    if not used:
        return {FLOUR: []}
    begin, end = min(monday for monday, _ in used) + _WEEK, _monday(wall, zone)
    count = max(0, (end - begin).days // 7)
    weeks: dict[str, list[float]] = {FLOUR: [0.0] * count}
    for monday, one in used:
        index = (monday - begin).days // 7
        if 0 <= index < count:
            for name, grams in ((FLOUR, one.flour_g), *additions_of(read(one.number))):
                weeks.setdefault(name, [0.0] * count)[index] += grams
    return weeks


def order_text(weeks: dict[str, list[float]], stock: DayFigures) -> str:
    """The table, and how it was reckoned. `stock`: what is left of the flour, and how much of it to order."""
    uses = {name: weekly_use(grams) for name, grams in weeks.items()}
    flour = uses[FLOUR]
    if flour.most_g is None:
        return (
            f"{flour.weeks} whole {'week is' if flour.weeks == 1 else 'weeks are'} in the journal: from "
            f"{LEAST_WEEKS} on it is said what a week takes. "
            f"So far {_kilos(flour.mean_g)} of flour a week."
        )
    rows = [(name, _kilos(use.mean_g), _between(use), _order(name, use, stock)) for name, use in uses.items()]
    left = sum(grams for _, grams in stock.left_g)
    known = f"{_kilos(left)} of flour left are taken off" if stock.left_g else "what is left is not taken off"
    return "\n".join(
        [
            *columns([("", "a week", "nine weeks in ten", "order for a week"), *rows], frozenset({1})),
            f"By {flour.weeks} whole weeks, as Student's t has it; {known}. The order is enough in nineteen "
            "weeks of twenty of the same kind: a feast or another menu is not in it.",
        ]
    )


def as_values(weeks: dict[str, list[float]], stock: DayFigures) -> list[dict[str, object]]:
    """The same as objects, one a thing."""
    found: list[dict[str, object]] = []
    for name, grams in weeks.items():
        use = weekly_use(grams)
        order = None if use.most_g is None else _order_g(name, use.most_g, stock)
        found.append(
            {
                "name": name,
                "weeks": use.weeks,
                "mean_g": round(use.mean_g, 1),
                "least_g": None if use.least_g is None else round(use.least_g, 1),
                "most_g": None if use.most_g is None else round(use.most_g, 1),
                "order_g": None if order is None else round(order, 1),
            }
        )
    return found


def _monday(wall: float, zone: tzinfo | None) -> date:
    """Monday of the week that a wall time is in, by the kitchen's days."""
    day = date.fromisoformat(day_of(wall, zone))
    return day - timedelta(days=day.weekday())


def additions_of(events: Iterable[tuple[Stamp, Event]]) -> list[tuple[str, float]]:
    """Additions of a batch (g) by its events; none where it has no opening."""
    found = list(events)
    if not found:
        return []
    sheet = build_sheet(found)
    return [(one.name, one.grams) for one in (*sheet.additions, *sheet.to_come)]


def _order_g(name: str, most_g: float, stock: DayFigures) -> float:
    """What to order (g): of flour what the day's end would order for it, of the rest all."""
    order = stock.order_g(most_g) if name == FLOUR else None
    return most_g if order is None else order


def _order(name: str, use: WeeklyUse, stock: DayFigures) -> str:
    order = _order_g(name, use.most_g or 0.0, stock)
    if name == FLOUR:
        return f"{math.ceil(order / KILO)} kg"
    eggs = f" ({math.ceil(order / EGG_G)} eggs of {EGG_G:g} g)" if name == WHOLE_EGG else ""
    return f"{_kilos(order)}{eggs}"


def _between(use: WeeklyUse) -> str:
    return f"{_kilos(use.least_g or 0.0)} to {_kilos(use.most_g or 0.0)}"


def _kilos(grams: float) -> str:
    return f"{grams / KILO:.1f} kg"
