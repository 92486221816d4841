"""The table of quantities: what it refuses and how, and that the settings take their bounds from it."""

import math
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.config.flour_lots import StockedLot
from assistant.config.recipes import Recipe
from assistant.config.settings import Settings
from assistant.dough import ranges
from assistant.dough.ranges import Range, recorded, recorded_above_zero
from assistant.errors import DoughError

ROWS = {name: row for name, row in vars(ranges).items() if isinstance(row, Range)}


@pytest.mark.parametrize("row", ROWS.values(), ids=ROWS)
def test_each_row_holds_finite_bounds_and_says_where_they_come_from(row: Range) -> None:
    assert -math.inf < row.least < row.most < math.inf
    assert row.basis
    assert row.check(row.least) == row.least
    assert row.check(row.most) == row.most


@given(st.sampled_from(list(ROWS.values())), st.floats())
def test_what_is_outside_is_refused_with_what_is_allowed(row: Range, value: float) -> None:
    if row.least <= value <= row.most and (not row.whole or value.is_integer()):
        assert row.check(value) == value
        return
    with pytest.raises(DoughError) as caught:
        row.check(value)
    assert str(caught.value).endswith(f": {row.allowed} is allowed; give another figure.")
    assert str(caught.value).startswith(row.what)


def test_the_line_names_what_was_found_even_a_hair_outside() -> None:
    with pytest.raises(DoughError, match=r"^flour 0\.9999999999 g: from 1 to 100000 g is allowed; "):
        ranges.FLOUR_G.check(0.9999999999)
    with pytest.raises(
        DoughError, match=r"^wet egg 101 %: from 0 to 100 % is allowed; give another figure\.$"
    ):
        ranges.WATER_CONTENT_PCT.check(101, "wet egg")


def test_a_count_is_whole() -> None:
    assert ranges.PORTIONS.check(40) == 40
    with pytest.raises(DoughError, match=r"^portions 2\.5: a whole number from 1 to 9999 is allowed; "):
        ranges.PORTIONS.check(2.5)


@pytest.mark.parametrize("value", [-1e-9, math.nan, math.inf, -math.inf])
def test_a_record_is_any_finite_mass(value: float) -> None:
    assert recorded("water", 0) == 0
    assert recorded("water", 1e15) == 1e15
    assert recorded_above_zero("portion", 5e-324) == 5e-324
    with pytest.raises(DoughError, match=r": 0 g or more is allowed; measure it again\.$"):
        recorded("water", value)
    for none in (0.0, value):
        with pytest.raises(DoughError, match=r": more than 0 g is needed; measure it again\.$"):
            recorded_above_zero("portion", none)


def fields_of(struct: Any) -> dict[str, Any]:
    return {field.name: field.type for field in msgspec.structs.fields(struct)}


def bounds_of(info: Any) -> tuple[float, float]:
    """Bounds of a setting, as its type says; of an optional one, those of its figure."""
    match info:
        case msgspec.inspect.UnionType():
            return bounds_of(next(one for one in info.types if not isinstance(one, msgspec.inspect.NoneType)))
        case msgspec.inspect.Metadata():
            return bounds_of(info.type)
        case _:
            return info.ge, info.le


@pytest.mark.parametrize(
    ("section", "field", "row"),
    [
        ("batch", "target_pct", ranges.TARGET_PCT),
        ("batch", "low_pct", ranges.TARGET_PCT),
        ("batch", "high_pct", ranges.TARGET_PCT),
        ("batch", "hopper_g", ranges.HOPPER_G),
        ("batch", "portion_g", ranges.PORTION_G),
        ("batch", "water_temperature_c", ranges.VOLUME_C),
        ("plan", "loss_pct", ranges.LOSS_PCT),
        (Recipe, "target_pct", ranges.TARGET_PCT),
        (Recipe, "portion_g", ranges.PORTION_G),
        (StockedLot, "delivered_kg", ranges.LOT_DELIVERED_KG),
        (StockedLot, "moisture_pct", ranges.LOT_MOISTURE_PCT),
    ],
)
def test_a_setting_has_the_bounds_of_its_quantity(section: Any, field: str, row: Range) -> None:
    struct = fields_of(Settings)[section] if isinstance(section, str) else section
    assert bounds_of(msgspec.inspect.type_info(fields_of(struct)[field])) == row.bounds
