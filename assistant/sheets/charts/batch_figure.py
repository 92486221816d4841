"""One batch over time: its water, mixing and resting, and what the crumb was called. Pure.

The line is the account as it was known at each moment; an entry that was corrected or taken back is hollow.
"""

from collections.abc import Sequence
from typing import Any

from assistant.sheets.charts.figure import LABEL, Figure, Spec, Table, layer, number, view
from assistant.sheets.formats import length
from assistant.sheets.sheet import Sheet, SheetLine
from assistant.sheets.wording import SheetWords

_SHAPES = {"dry": "triangle-down", "ready": "circle", "wet": "square"}
"""Verdict -> its sign; its word stands beside it too."""
_INTERVALS = {"lines.mix": "mixing", "lines.rest": "resting"}
_STRIP_PX = 20
"""Height of the strip of mixing and resting, at the foot of the plot (pixels)."""


def batch_figure(sheet: Sheet, words: SheetWords) -> Figure:
    """The figure of a batch from its sheet."""
    entries = [
        line for line in sheet.lines if line.hydration_pct is not None and line.what.key != "lines.crumb"
    ]
    verdicts = [line for line in sheet.lines if line.what.key == "lines.crumb" and not line.struck]
    across = (0.0, max(1.0, round(_minutes(_last(sheet, [*entries, *verdicts])) * 1.05, 3)))
    domain = _domain(sheet, entries)
    pct = number("pct", words.text("chart.axis.hydration"), domain, axis={"tickCount": 6})
    at = number("at", words.text("chart.axis.minutes"), across)
    steps = [{"at": _minutes(line.moment.since_s), "pct": line.hydration_pct} for line in entries]
    steps += [{"at": across[1], "pct": steps[-1]["pct"]}] if steps else []
    water = {"type": "line", "style": "water", "interpolate": "step-after", "clip": True}
    layers = [
        _band(sheet, pct),
        layer(_marks(sheet), {"type": "rule", "style": "target"}, y=pct),
        *_intervals(sheet, words, at),
        layer(steps, water, x=at, y=pct),
        *_entries(entries, words, at, pct, domain),
        *_verdicts(verdicts, words, at, pct, domain),
        layer(
            _mark_labels(sheet, words), {**LABEL, "align": "left", "dx": 8}, x={"value": "width"}, y=pct,
            text={"field": "text"},
        ),
    ]  # fmt: skip
    title = words.text("chart.of_batch.title", number=sheet.number, lot=sheet.lot)
    reads = tuple(words.text(f"chart.of_batch.{key}") for key in ("line", "signs", "strip"))
    spec = view(layers)
    return Figure("batch", title, reads, spec, _table(sheet, words), words.text("units.decimal_mark"))


def _last(sheet: Sheet, points: Sequence[SheetLine]) -> float:
    """The last thing that is drawn (s since the opening): what is said at the die would only take room."""
    ends = [
        line.moment.since_s + note.values["seconds"]
        for line in sheet.lines
        for note in line.notes
        if line.what.key in _INTERVALS and note.key == "notes.ran"
    ]
    return max([*ends, *(line.moment.since_s for line in points)], default=0.0)


def _minutes(seconds: float) -> float:
    return round(seconds / 60.0, 3)


def _domain(sheet: Sheet, entries: Sequence[SheetLine]) -> tuple[float, float]:
    """Ends of the axis: what decides is not lost in what was poured first. Room for the strip below."""
    wet = [line.hydration_pct for line in entries if line.hydration_pct]
    low, high = min([sheet.low_pct, *wet]), max([sheet.high_pct, *wet])
    span = high - low + 1.0
    return max(0.0, low - 0.25 * span), high + 0.12 * span


def _band(sheet: Sheet, pct: Spec) -> Spec:
    whole = {"x": {"value": 0}, "x2": {"value": "width"}}
    marks = [{"pct": sheet.low_pct, "to": sheet.high_pct}]
    return layer(marks, {"type": "rect", "style": "band"}, y=pct, y2={"field": "to"}, **whole)


def _marks(sheet: Sheet) -> list[dict[str, Any]]:
    return [{"pct": sheet.target_pct}]


def _mark_labels(sheet: Sheet, words: SheetWords) -> list[dict[str, Any]]:
    found = (("low", sheet.low_pct), ("target", sheet.target_pct), ("high", sheet.high_pct))
    return [{"pct": pct, "text": words.text(f"chart.of_batch.{key}", hydration=pct)} for key, pct in found]


def _intervals(sheet: Sheet, words: SheetWords, at: Spec) -> list[Spec]:
    """Mixing and resting as a strip at the foot, each with its word where there is room."""
    layers = []
    for key, style in _INTERVALS.items():
        found = []
        for line in sheet.lines:
            ran = next((note.values["seconds"] for note in line.notes if note.key == "notes.ran"), None)
            if line.what.key == key and ran is not None and not line.struck:
                start = line.moment.since_s
                found.append({"at": _minutes(start), "to": _minutes(start + ran), "text": length(ran)})
        strip = {"y": {"value": "height"}, "y2": {"value": {"expr": f"height - {_STRIP_PX}"}}}
        layers.append(layer(found, {"type": "rect", "style": style}, x=at, x2={"field": "to"}, **strip))
        named = [{**one, "word": words.text(f"chart.of_batch.{style}")} for one in found[:1]]
        mark = {**LABEL, "align": "left", "baseline": "bottom"}
        above = {"y": {"value": {"expr": f"height - {_STRIP_PX + 3}"}}}
        layers.append(layer(named, mark, x=at, text={"field": "word"}, **above))
    return layers


def _entries(
    entries: Sequence[SheetLine], words: SheetWords, at: Spec, pct: Spec, domain: tuple[float, float]
) -> list[Spec]:
    """A dot for each entry that wets the dough, hollow where it was corrected or taken back."""
    found: dict[bool, list[dict[str, Any]]] = {False: [], True: []}
    for line in entries:
        if line.hydration_pct is not None and line.hydration_pct >= domain[0]:
            grams = line.what.values.get("grams")
            text = "" if grams is None else words.mass(grams)
            point = {"at": _minutes(line.moment.since_s), "pct": line.hydration_pct, "text": text}
            found[line.struck].append(point)
    label = {**LABEL, "align": "left", "dx": 4, "dy": -17}
    return [
        layer(found[True], {"type": "point", "style": "gone", "size": 70, "filled": True}, x=at, y=pct),
        layer(found[False], {"type": "point", "style": "drop", "size": 90, "filled": True}, x=at, y=pct),
        layer(found[False], label, x=at, y=pct, text={"field": "text"}),
    ]


def _verdicts(
    lines: Sequence[SheetLine], words: SheetWords, at: Spec, pct: Spec, domain: tuple[float, float]
) -> list[Spec]:
    values = [
        {
            "at": _minutes(line.moment.since_s),
            "pct": max(domain[0], line.hydration_pct or 0.0),
            "verdict": line.what.values["verdict"],
            "text": words.word("crumb", line.what.values["verdict"]),
        }
        for line in lines
    ]
    shape = {
        "field": "verdict", "type": "nominal", "legend": None,
        "scale": {"domain": list(_SHAPES), "range": list(_SHAPES.values())},
    }  # fmt: skip
    mark = {"type": "point", "style": "verdict", "size": 110, "filled": True}
    label = {**LABEL, "align": "center", "baseline": "top", "dy": 10}
    return [
        layer(values, mark, x=at, y=pct, shape=shape),
        layer(values, label, x=at, y=pct, text={"field": "text"}),
    ]


def _table(sheet: Sheet, words: SheetWords) -> Table:
    """Every line of the sheet."""
    head = tuple(
        words.text(f"sheet.head.{one}") for one in ("since", "void", "what", "by", "hydration", "notes")
    )
    rows = tuple(
        (
            length(line.moment.since_s),
            words.text("sheet.void") if line.struck else "",
            words.phrase(line.what),
            "" if line.source is None else words.word("source", line.source),
            "" if line.hydration_pct is None else words.percent(line.hydration_pct),
            "; ".join(map(words.phrase, line.notes)),
        )
        for line in sheet.lines
    )
    return Table(head, rows, frozenset({0, 4}))
