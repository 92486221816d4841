"""The history of a lot as a figure (SVG): where each batch ended, and what the next one will likely want."""

from datetime import UTC, datetime
from html import escape

from assistant.dough.lots import Forecast, LotRecord
from assistant.sheets.wording import SheetWords

WIDTH, HEIGHT = 720, 360
_LEFT, _RIGHT, _TOP, _BOTTOM = 56, 150, 34, 46
_INK, _BAR, _BAND, _SAFE = "#222", "#8a6d3b", "#d9e6d0", "#1f5f8b"


def lot_figure(record: LotRecord, forecast: Forecast, words: SheetWords) -> str:
    """SVG text. Bars: where a batch ended, open where nothing bounds it. Band: 90 % of the next batch."""
    seen = record.seen
    ends = [end for one in seen for end in (one.bounds.low, one.bounds.high) if abs(end) < 1000]
    low = min([*ends, forecast.low_pct]) - 0.3
    high = max([*ends, forecast.high_pct]) + 0.3
    step = (WIDTH - _LEFT - _RIGHT) / max(1, len(seen))

    def y(pct: float) -> float:
        inside = min(high, max(low, pct))
        return _TOP + (HEIGHT - _TOP - _BOTTOM) * (high - inside) / (high - low)

    right = WIDTH - _RIGHT
    title = words.text("chart.title", lot=record.lot, flour=record.flour, batches=len(seen))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" '
        f'font-size="12" fill="{_INK}">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        f'<text x="{_LEFT}" y="20" font-size="14">{escape(title)}</text>',
        f'<rect x="{_LEFT}" y="{y(forecast.high_pct):.1f}" width="{right - _LEFT}" '
        f'height="{y(forecast.low_pct) - y(forecast.high_pct):.1f}" fill="{_BAND}"/>',
        _line(y(forecast.likely_pct), right, _INK, "6 3"),
        _line(y(forecast.safe_pct), right, _SAFE, "2 3"),
        *_labels(forecast, words, right, y(forecast.likely_pct), y(forecast.safe_pct)),
    ]
    pct = int(low) + 1
    while pct < high:
        mark = escape(words.text("chart.mark", hydration=pct))
        parts.append(f'<text x="{_LEFT - 8}" y="{y(pct) + 4:.1f}" text-anchor="end">{mark}</text>')
        parts.append(f'<path d="M{_LEFT} {y(pct):.1f}h{right - _LEFT}" stroke="#ddd"/>')
        pct += 1
    for place, one in enumerate(seen):
        x = _LEFT + step * (place + 0.5)
        name = escape(words.text("chart.batch", batch=one.batch))
        parts.append(
            f'<path d="M{x:.1f} {y(one.bounds.low):.1f}V{y(one.bounds.high):.1f}" '
            f'stroke="{_BAR}" stroke-width="5"><title>{name}</title></path>'
        )
    if seen:
        for place, anchor in ((0, "start"), (len(seen) - 1, "end")):
            if place or anchor == "start":
                x = _LEFT + step * (place + 0.5)
                day = day_text(seen[place].day)
                parts.append(f'<text x="{x:.1f}" y="{HEIGHT - 24}" text-anchor="{anchor}">{day}</text>')
    legend = escape(words.text("chart.legend"))
    parts.append(f'<text x="{_LEFT}" y="{HEIGHT - 8}">{legend}</text></svg>')
    return "\n".join(parts) + "\n"


def _line(at: float, right: int, colour: str, dashes: str) -> str:
    return f'<path d="M{_LEFT} {at:.1f}H{right}" stroke="{colour}" stroke-dasharray="{dashes}"/>'


def _labels(forecast: Forecast, words: SheetWords, right: int, likely: float, safe: float) -> list[str]:
    safe = max(safe, likely + 14)
    wanted = escape(words.text("chart.likely", hydration=forecast.likely_pct))
    first = escape(words.text("chart.first_pour", hydration=forecast.safe_pct))
    return [
        f'<text x="{right + 6}" y="{likely + 4:.1f}">{wanted}</text>',
        f'<text x="{right + 6}" y="{safe + 4:.1f}" fill="{_SAFE}">{first}</text>',
    ]


def day_text(day: float) -> str:
    """A day (days since 1970) as a date, UTC."""
    return datetime.fromtimestamp(day * 86_400.0, UTC).strftime("%Y-%m-%d")
