"""The bar of the water, zoomed on what decides. Pure."""

from typing import Any

from assistant.batch.record.batch import Batch, Standing
from assistant.board.board_words import BoardWords

HIGH_AT = 0.86
"""Place of the high mark (share of the bar) while most of the water is still to come."""
_BELOW, _ABOVE = 1.0, 0.5
"""Room around low and high in the zoomed bar, in lengths of the range between them."""


def gauge(batch: Batch, words: BoardWords) -> dict[str, Any]:
    """The bar: its marks, and how far it is filled, as shares of its length (0 to 1).

    It shows 0 % to beyond high while water is poured, and from well below low to just beyond high as soon as
    the hydration is in there.
    """
    low, high, target = batch.low_pct, batch.high_pct, batch.target_pct
    pct, span = batch.hydration_pct, max(0.5, high - low)
    zoomed = pct >= low - _BELOW * span
    start = max(0.0, low - _BELOW * span) if zoomed else 0.0
    end = high + _ABOVE * span if zoomed else high / HIGH_AT
    end = max(end, target + 0.1)

    def share(value: float) -> float:
        return round(min(1.0, max(0.0, (value - start) / (end - start))), 4)

    shown = round(pct, 1)
    marks = {"low": low, "target": target, "high": high}
    return {
        "zoomed": zoomed,
        "fill": share(pct),
        "over": batch.standing is Standing.OVER_HIGH,
        "beyond": pct > end,
        "marks": [
            {"name": name, "at": share(value), "text": words.text(f"gauge.{name}", pct=value)}
            for name, value in marks.items()
        ],
        "from": words.text("gauge.from", pct=round(start, 1)),
        "value": words.text("gauge.value", pct=shown),
        "text": words.text("gauge.text", pct=shown, low=low, target=target, high=high),
    }
