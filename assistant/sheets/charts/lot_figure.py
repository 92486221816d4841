"""A lot's batches, and what the next one will likely want. Pure.

A bar is what the verdicts of a batch say of its end, the least water at which its crumb was ready: above the
last dry crumb, not above the first ready one. The dot is what was in when the batch was closed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

from assistant.dough.lots import Forecast, LotRecord, Seen
from assistant.sheets.charts.figure import LABEL, Figure, Spec, Table, layer, name, number, view
from assistant.sheets.formats import day_text
from assistant.sheets.wording import SheetWords

_LABEL_PX, _PLOT_PX = 17.0, 250.0
"""Height of a label, and about that of the plot (pixels): labels are kept apart by it."""
_NONE: Mapping[int, float] = MappingProxyType({})


def lot_figure(
    record: LotRecord,
    forecast: Forecast,
    first_pct: float,
    words: SheetWords,
    closed: Mapping[int, float] = _NONE,
) -> Figure:
    """The figure. `first_pct`: hydration (%) of the first pour; `closed`: that at the end, by batch."""
    seen = record.seen
    inside = [end for one in seen for end in (one.bounds.low, one.bounds.high) if isfinite(end)]
    inside += [
        forecast.low_pct,
        forecast.high_pct,
        first_pct,
        *(closed[one.batch] for one in seen if _has_end(one, closed)),
    ]
    domain = min(inside) - 0.3, max(inside) + 0.3
    bars = [_bar(one, domain) for one in seen]
    dots = [{"batch": one.name, "pct": closed[one.batch]} for one in seen if _has_end(one, closed)]
    batches = name("batch", words.text("chart.head.batch"), axis={"labelAngle": 0, "labelOverlap": True})
    pct = number("pct", words.text("chart.axis.hydration"), domain, axis={"tickCount": 6})
    whole = {"x": {"value": 0}, "x2": {"value": "width"}}
    band = [{"pct": forecast.low_pct, "to": forecast.high_pct}]
    layers = [
        layer(band, {"type": "rect", "style": "band"}, y=pct, y2={"field": "to"}, **whole),
        layer([{"pct": forecast.likely_pct}], {"type": "rule", "style": "likely"}, y=pct),
        layer([{"pct": first_pct}], {"type": "rule", "style": "first"}, y=pct),
        layer(bars, {"type": "rule", "style": "spread"}, x=batches, y=pct, y2={"field": "to"}),
        layer(dots, {"type": "point", "style": "dot", "size": 60, "filled": True}, x=batches, y=pct),
        *_labels(forecast, first_pct, words, pct, (domain[1] - domain[0]) / _PLOT_PX * _LABEL_PX),
    ]
    title = words.text("chart.lot.title", lot=record.lot, flour=record.flour, batches=len(seen))
    reads = tuple(words.text(f"chart.lot.{key}") for key in ("bars", "dots", "band"))
    decimal = words.text("units.decimal_mark")
    return Figure("lot", title, reads, view(layers), _table(seen, closed, words), decimal)


def _bar(one: Seen, domain: tuple[float, float]) -> dict[str, str | float]:
    """A bar; where nothing bounds it, it goes to the edge."""
    low, high = (min(domain[1], max(domain[0], end)) for end in (one.bounds.low, one.bounds.high))
    return {"batch": one.name, "pct": low, "to": high}


@dataclass(frozen=True, slots=True)
class _Label:
    pct: float
    text: str


def _labels(forecast: Forecast, first_pct: float, words: SheetWords, pct: Spec, apart: float) -> list[Spec]:
    """Labels behind the lines, from above down, each at least `apart` (points) under the one before."""
    wanted = sorted(
        (
            _Label(
                forecast.high_pct,
                words.text("chart.lot.range", low_pct=forecast.low_pct, high_pct=forecast.high_pct),
            ),
            _Label(forecast.likely_pct, words.text("chart.likely", hydration=forecast.likely_pct)),
            _Label(first_pct, words.text("chart.first_pour", hydration=first_pct)),
        ),
        key=lambda one: -one.pct,
    )
    placed, last = list[dict[str, str | float]](), float("inf")
    for one in wanted:
        last = min(one.pct, last - apart)
        placed.append({"pct": last, "text": one.text})
    mark = {**LABEL, "align": "left", "dx": 8, "clip": False}
    return [layer(placed, mark, x={"value": "width"}, y=pct, text={"field": "text"})]


def _has_end(one: Seen, closed: Mapping[int, float]) -> bool:
    """Whether it is known what was in at its end: of another station's batch it is not."""
    return one.station is None and one.batch in closed


def _table(seen: Sequence[Seen], closed: Mapping[int, float], words: SheetWords) -> Table:
    nothing = words.text("batches.nothing")
    head = tuple(words.text(f"chart.head.{one}") for one in ("batch", "day", "above", "up_to", "closed"))
    rows = tuple(
        (
            one.name,
            day_text(one.day),
            *(words.percent(end) if isfinite(end) else nothing for end in (one.bounds.low, one.bounds.high)),
            words.percent(closed[one.batch]) if _has_end(one, closed) else nothing,
        )
        for one in seen
    )
    return Table(head, rows, frozenset({0, 2, 3, 4}))
