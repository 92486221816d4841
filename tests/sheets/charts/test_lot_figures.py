"""The figure of a lot names its band, bars and dots; its table has the same figures."""

from itertools import pairwise
from math import inf

import pytest

from assistant.dough.evidence import Bounds
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen
from assistant.sheets.charts.drawing import svg_of
from assistant.sheets.charts.lot_figure import lot_figure
from assistant.sheets.charts.lots_figure import lots_figure
from tests.sheets.charts.reading import texts, values
from tests.sheets.words import english

DAY = 20_500.0
RECORD = LotRecord(
    "12",
    "semolina",
    seen=(
        Seen(DAY, Bounds(31.1, 31.7), batch=3),
        Seen(DAY + 1, Bounds(-inf, 31.4), batch=4),
        Seen(DAY + 2, Bounds(31.0, inf), batch=6),
    ),
)
FORECAST = FlourMemory([RECORD]).forecast("12", DAY + 3)


def test_a_bar_is_what_the_verdicts_say_and_a_dot_what_was_in() -> None:
    figure = lot_figure(RECORD, FORECAST, 30.5, english(), {3: 31.7, 4: 31.4})
    bars = {one["batch"]: (one["pct"], one["to"]) for one in values(figure, "spread")}
    low, high = figure.spec["layer"][0]["encoding"]["y"]["scale"]["domain"]
    assert bars == {"3": (31.1, 31.7), "4": (low, 31.4), "6": (31.0, high)}
    assert {one["batch"]: one["pct"] for one in values(figure, "dot")} == {"3": 31.7, "4": 31.4}
    assert figure.table.rows[0][2:] == ("31.1 %", "31.7 %", "31.7 %")
    assert figure.table.rows[1][2:] == ("-", "31.4 %", "31.4 %")
    assert figure.table.rows[2][2:] == ("31.0 %", "-", "-")


def test_band_likely_and_first_pour_are_those_of_the_forecast_and_named() -> None:
    figure = lot_figure(RECORD, FORECAST, 30.5, english())
    assert values(figure, "band") == [{"pct": FORECAST.low_pct, "to": FORECAST.high_pct}]
    assert values(figure, "likely") == [{"pct": FORECAST.likely_pct}]
    assert values(figure, "first") == [{"pct": 30.5}]
    assert texts(figure) == [
        f"{FORECAST.low_pct:.1f} to {FORECAST.high_pct:.1f} %, 9 of 10",
        f"likely {FORECAST.likely_pct:.1f} %",
        "first pour to 30.5 %",
    ]
    assert [line.partition(":")[0] for line in figure.reads] == ["Bar", "Dot", "Band"]


def test_labels_that_would_cover_each_other_are_kept_apart() -> None:
    figure = lot_figure(RECORD, FORECAST, FORECAST.likely_pct, english())
    heights = [one["pct"] for one in values(figure, "label")]
    low, high = figure.spec["layer"][0]["encoding"]["y"]["scale"]["domain"]
    gaps = [above - below for above, below in pairwise(heights)]
    # 17 of some 250 pixels.
    assert min(gaps) >= (high - low) * 17 / 250 - 1e-9


def test_a_name_of_a_lot_is_no_markup() -> None:
    record = LotRecord("<script>", "<b>", seen=RECORD.seen)
    drawn = svg_of(lot_figure(record, FORECAST, 30.5, english()))
    assert "<script" not in drawn
    assert "Lot &lt;script&gt;, &lt;b&gt;: 3 batches" in drawn


def test_a_lot_that_nothing_is_known_of_has_nothing_to_draw() -> None:
    unknown = LotRecord("9")
    figure = lot_figure(unknown, FlourMemory([]).forecast("9", DAY), 22.0, english())
    assert figure.empty


def test_all_lots_side_by_side() -> None:
    figure = lots_figure([(RECORD, FORECAST, 30.5)], english())
    (bar,) = values(figure, "spread")
    assert (bar["pct"], bar["to"], bar["first"]) == (FORECAST.low_pct, FORECAST.high_pct, 30.5)
    assert texts(figure) == [f"{FORECAST.likely_pct:.1f} %"]
    assert figure.table.rows == (
        ("12", *(f"{one:.1f} %" for one in (FORECAST.likely_pct, FORECAST.low_pct, FORECAST.high_pct, 30.5))),
    )
    assert lots_figure([], english()).empty


@pytest.mark.parametrize("count", [1, 8])
def test_more_lots_make_a_higher_figure(count: int) -> None:
    figure = lots_figure([(RECORD, FORECAST, 30.5)] * count, english())
    assert figure.spec["height"] == 60 + 34 * count
