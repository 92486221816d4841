"""What batches say of each die, as a table or as JSON. Pure."""

import json
from collections.abc import Mapping

from assistant.dough.calculators.throughput import LEAST_BATCHES, DieFigures
from assistant.sheets.layout import columns

_HEAD = ("die", "batches", "g a minute", "nine of ten", "a tray", "kJ/kg", "")
_UNKNOWN = "-"


def die_lines(figures: Mapping[str | None, DieFigures], *, as_json: bool) -> str:
    """One line a die, the last used first; as JSON one object a line."""
    if as_json:
        return "".join(json.dumps(_values(one), ensure_ascii=False) + "\n" for one in figures.values())
    if not figures:
        return "Nothing known of a die yet; say extruding, and tray done, before a batch is closed."
    rows = [_row(one) for one in figures.values()]
    return "\n".join(
        [
            *(line.rstrip() for line in columns([_HEAD, *rows], frozenset({1, 2, 3, 4, 5}))),
            f"Rates with first tray and trimmings. A plan goes by a die's own from {LEAST_BATCHES} "
            "batches on, where they agree; before, between that and its other dies. "
            "kJ/kg: what warms the dough from its temperature to the strand's.",
        ]
    )


def _row(one: DieFigures) -> tuple[str, ...]:
    between = _UNKNOWN
    if one.low_g_per_min is not None and one.high_g_per_min is not None:
        between = f"{one.low_g_per_min:.0f}-{one.high_g_per_min:.0f}"
    return (
        one.die or "not named",
        f"{one.batches}",
        _UNKNOWN if one.g_per_min is None else f"{one.g_per_min:.0f}",
        between,
        _UNKNOWN if one.tray_s is None else f"{one.tray_s // 60:.0f}:{one.tray_s % 60:02.0f}",
        _UNKNOWN if one.energy is None else f"{one.energy.kj_per_kg:.0f} ({one.energy.readings})",
        _plan(one),
    )


def _plan(one: DieFigures) -> str:
    """What a plan makes of it."""
    if one.die is None or one.planned_g_per_min is None:
        return ""
    return "planned with" if one.sure else f"planned with {one.planned_g_per_min:.0f}"


def _values(one: DieFigures) -> dict[str, object]:
    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 1)

    return {
        "die": one.die,
        "batches": one.batches,
        "g_per_min": rounded(one.g_per_min),
        "low_g_per_min": rounded(one.low_g_per_min),
        "high_g_per_min": rounded(one.high_g_per_min),
        "planned_with": one.planned_g_per_min is not None and one.die is not None,
        "planned_g_per_min": rounded(one.planned_g_per_min) if one.die else None,
        "tray_s": rounded(one.tray_s),
        "kj_per_kg": None if one.energy is None else rounded(one.energy.kj_per_kg),
        "readings": 0 if one.energy is None else one.energy.readings,
    }
