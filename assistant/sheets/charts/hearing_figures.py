"""How well the station hears in a day: what became of what was said, by hour, and how loud it was. Pure."""

from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo

from assistant.journal.heard_counts import BANDS, BECAME, RATIO_EDGES_DB, Quarter, total
from assistant.sheets.charts.figure import Figure, Table, layer, name, number, view
from assistant.sheets.wording import SheetWords

_UNDERSTOOD = ("acted", "asked")
_ROWS_HEIGHT, _NOISE_HEIGHT = 240, 180


def heard_figure(quarters: Sequence[Quarter], words: SheetWords, zone: tzinfo | None = None) -> Figure:
    """What became of what was heard, hour by hour: the larger the circle, the more often."""
    hours: dict[int, list[Quarter]] = {}
    for one in quarters:
        hours.setdefault(_hour(one, zone), []).append(one)
    counts = {hour: {b: sum(q.count(b) for q in several) for b in BECAME} for hour, several in hours.items()}
    named = {became: words.text(f"chart.head.{became}") for became in BECAME}
    values = [
        {"hour": hour + 0.5, "became": named[became], "count": count, "text": str(count)}
        for hour, several in counts.items()
        for became, count in several.items()
        if count
    ]
    x = number("hour", words.text("chart.axis.hour"), _across(hours), axis={"tickMinStep": 1, "format": "d"})
    y = name("became", None, scale={"domain": list(named.values())}, axis={"labelLimit": 260, "grid": True})
    size = {"field": "count", "type": "quantitative", "legend": None, "scale": {"range": [160, 1400]}}
    layers = [
        layer(values, {"type": "point", "style": "circle", "filled": True}, x=x, y=y, size=size),
        layer(values, {"type": "text", "style": "on_grain"}, x=x, y=y, text={"field": "text"}),
    ]
    head = tuple(words.text(f"chart.head.{one}") for one in ("hour", *BECAME, "noise"))
    rows = tuple(
        (_clock(hour), *(str(counts[hour][b]) for b in BECAME), _noise_text(hours[hour], words))
        for hour in sorted(hours)
    )
    reads = (words.text("chart.heard.reads"),)
    spec = view(layers, height=_ROWS_HEIGHT)
    table = Table(head, rows, frozenset(range(1, len(head))))
    return Figure("heard", words.text("chart.heard.title"), reads, spec, table, _mark(words))


def noise_figure(quarters: Sequence[Quarter], words: SheetWords, zone: tzinfo | None = None) -> Figure:
    """Level of the room in the quarters in which something was heard (dBFS), and the table by ratio."""
    known = [one for one in quarters if one.noise_dbfs is not None]
    values = [
        {"hour": _hour(one, zone) + _minute(one, zone) / 60.0 + 0.125, "level": one.noise_dbfs}
        for one in known
    ]
    levels = [one.noise_dbfs for one in known if one.noise_dbfs is not None]
    hours = [_hour(one, zone) for one in quarters]
    x = number("hour", words.text("chart.axis.hour"), _across(hours), axis={"tickMinStep": 1, "format": "d"})
    ends = (min(levels, default=-60.0) - 5.0, max(levels, default=-20.0) + 5.0)
    y = number("level", words.text("chart.axis.noise"), ends, axis={"tickCount": 5})
    layers = [layer(values, {"type": "point", "style": "drop", "filled": True, "size": 80}, x=x, y=y)]
    spec = view(layers, height=_NOISE_HEIGHT)
    title, reads = words.text("chart.noise.title"), (words.text("chart.noise.reads"),)
    return Figure("noise", title, reads, spec, _by_ratio(quarters, words), _mark(words))


def _by_ratio(quarters: Sequence[Quarter], words: SheetWords) -> Table:
    """What became of it, by how far speech stood above the noise; rows without any are left out."""
    sums = total(quarters)
    rows = []
    for band in range(BANDS):
        counts = [sums[became][band] for became in BECAME]
        if any(counts):
            understood = 100.0 * sum(sums[b][band] for b in BECAME if b in _UNDERSTOOD) / sum(counts)
            rows.append((_band_text(band, words), *map(str, counts), f"{understood:.0f} %"))
    head = tuple(words.text(f"chart.head.{one}") for one in ("ratio", *BECAME, "understood_pct"))
    return Table(head, tuple(rows), frozenset(range(1, len(head))))


def _band_text(band: int, words: SheetWords) -> str:
    edges = RATIO_EDGES_DB
    if band == BANDS - 1:
        return words.text("chart.ratio.unknown")
    if band == 0:
        return words.text("chart.ratio.under", db=edges[0])
    if band == len(edges):
        return words.text("chart.ratio.over", db=edges[-1])
    return words.text("chart.ratio.between", low_db=edges[band - 1], high_db=edges[band])


def _noise_text(several: Sequence[Quarter], words: SheetWords) -> str:
    levels = [one.noise_dbfs for one in several if one.noise_dbfs is not None]
    return words.decimal(sum(levels) / len(levels)) if levels else words.text("batches.nothing")


def _across(hours: Sequence[int] | dict[int, list[Quarter]]) -> tuple[float, float]:
    """The hours that the axis shows: at least six, so that an early look at the day is not stretched."""
    first = min(hours, default=8)
    last = max(max(hours, default=first) + 1, first + 6)
    return float(max(0, min(first, last - 6))), float(min(24, last)) if first <= 18 else 24.0


def _mark(words: SheetWords) -> str:
    return words.text("units.decimal_mark")


def _local(one: Quarter, zone: tzinfo | None) -> datetime:
    return datetime.fromtimestamp(one.start, UTC).astimezone(zone)


def _hour(one: Quarter, zone: tzinfo | None) -> int:
    return _local(one, zone).hour


def _minute(one: Quarter, zone: tzinfo | None) -> int:
    return _local(one, zone).minute


def _clock(hour: int) -> str:
    return f"{hour:02}:00"
