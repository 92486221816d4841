"""All lots side by side: what the next batch of each will likely want. Pure."""

from collections.abc import Sequence

from assistant.dough.lots import Forecast, LotRecord
from assistant.sheets.charts.figure import Figure, Table, layer, name, number, view
from assistant.sheets.wording import SheetWords

_ROW_PX, _AXIS_PX = 34, 60
"""Height of a lot, and of what is around the plot (pixels)."""


def lots_figure(lots: Sequence[tuple[LotRecord, Forecast, float]], words: SheetWords) -> Figure:
    """The figure, the lot last used first; each with the hydration (%) of its first pour."""
    low = min((min(one.low_pct, first) for _, one, first in lots), default=30.0) - 0.3
    high = max((one.high_pct for _, one, _ in lots), default=33.0) + 0.3
    values = [
        {
            "lot": record.lot,
            "pct": forecast.low_pct,
            "to": forecast.high_pct,
            "likely": forecast.likely_pct,
            "first": first,
            "text": words.percent(forecast.likely_pct),
        }
        for record, forecast, first in lots
    ]
    rows = name("lot", words.text("chart.head.lot"), axis={"labelLimit": 160})
    title = words.text("chart.axis.hydration")
    likely = number("likely", title, (low, high))
    layers = [
        layer(
            values,
            {"type": "rule", "style": "spread"},
            y=rows,
            x=number("pct", title, (low, high)),
            x2={"field": "to"},
        ),
        layer(
            values,
            {"type": "tick", "style": "tick", "thickness": 3, "height": 22},
            y=rows,
            x=number("first", title, (low, high)),
        ),
        layer(values, {"type": "point", "style": "dot", "filled": True, "size": 90}, y=rows, x=likely),
        layer(
            values, {"type": "text", "style": "label", "dy": -13}, y=rows, x=likely, text={"field": "text"}
        ),
    ]
    head = tuple(words.text(f"chart.head.{one}") for one in ("lot", "likely", "low", "high", "first_pour"))
    table = tuple(
        (one.lot, *map(words.percent, (f.likely_pct, f.low_pct, f.high_pct, first))) for one, f, first in lots
    )
    reads = tuple(words.text(f"chart.lots.{key}") for key in ("bars", "dots", "ticks"))
    spec = view(layers, height=_AXIS_PX + _ROW_PX * max(1, len(lots)))
    numbers = frozenset({1, 2, 3, 4})
    decimal = words.text("units.decimal_mark")
    return Figure("lots", words.text("chart.lots.title"), reads, spec, Table(head, table, numbers), decimal)
