"""What verdicts tell of the end of a batch."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.evidence import NARROWEST_PCT, Bounds, Squeeze, bounds, ready_pct

inf = math.inf


@pytest.mark.parametrize(
    ("squeezes", "found"),
    [
        # Dry at 30.4: the end is above. Ready at 31: it is not above 31.
        ([("dry", 30.4), ("ready", 31.0)], Bounds(30.4, 31.0)),
        ([("dry", 22.3), ("ready", 31.0)], Bounds(30.0, 31.0)),
        ([("ready", 31.0)], Bounds(30.0, 31.0)),
        ([("dry", 30.0), ("dry", 32.5)], Bounds(32.5, inf)),
        # Wet at 32: all of the width of ready was over by then.
        ([("wet", 32.0)], Bounds(-inf, 31.0)),
        ([("wet", 31.8), ("ready", 31.0)], Bounds(30.0, 30.8)),
        # Never squeezed: nobody felt it, wherever it was closed.
        ([], None),
        ([("doubtful", 22.0)], None),
        # What was poured after the last verdict was not felt.
        ([("dry", 30.4)], Bounds(30.4, inf)),
        # Nobody finds an end closer than a tenth of a point.
        ([("dry", 31.0), ("ready", 31.05)], Bounds(30.975, 31.075)),
        ([("dry", 31.0), ("ready", 31.0)], Bounds(30.95, 31.05)),
        # What was said later counts: dry at 31.5 can't be, when 31 was ready afterwards.
        ([("dry", 31.5), ("ready", 31.0)], Bounds(30.0, 31.0)),
        ([("ready", 30.0), ("dry", 31.0), ("ready", 31.5)], Bounds(31.0, 31.5)),
    ],
)
def test_bounds(squeezes: list[Squeeze], found: Bounds | None) -> None:
    got = bounds(squeezes)
    if found is None or got is None:
        assert got is found
    else:
        assert got.low == pytest.approx(found.low)
        assert got.high == pytest.approx(found.high)


@pytest.mark.parametrize(
    ("squeeze", "found"),
    [
        (("ready", 31.0), Bounds(29.5, 31.0)),
        (("wet", 33.0), Bounds(-inf, 31.5)),
        (("dry", 30.0), Bounds(30, inf)),
    ],
)
def test_a_wider_ready_leaves_more_open(squeeze: Squeeze, found: Bounds) -> None:
    assert bounds([squeeze], 1.5) == found


def test_whether_a_percent_is_inside() -> None:
    assert 31.0 in Bounds(30.0, 31.0)
    assert 30.0 not in Bounds(30.0, 31.0)


squeezes = st.lists(
    st.tuples(st.sampled_from(["dry", "ready", "wet", "doubtful"]), st.floats(15, 45)), max_size=6
)


@given(squeezes)
def test_bounds_are_never_empty(verdicts: list[Squeeze]) -> None:
    found = bounds(verdicts)
    if found is not None:
        assert found.high - found.low >= NARROWEST_PCT - 1e-9
        assert not math.isnan(found.low)
        assert not math.isnan(found.high)


@given(squeezes, st.floats(15, 45))
def test_a_doubtful_verdict_bounds_nothing(verdicts: list[Squeeze], pct: float) -> None:
    believed = [one for one in verdicts if one[0] != "doubtful"]
    assert bounds([("doubtful", pct), *believed, ("ready", 31.0)]) == bounds([*believed, ("ready", 31.0)])
    assert bounds([("doubtful", pct)]) is None


@pytest.mark.parametrize(
    ("found", "pct"),
    [
        ([], None),
        ([("dry", 30.0), ("wet", 32.0)], None),
        ([("ready", 30.5), ("dry", 30.9), ("ready", 31.0), ("doubtful", 22.0)], 31.0),
    ],
)
def test_the_hydration_at_which_it_was_ready(found: list[Squeeze], pct: float | None) -> None:
    assert ready_pct(found) == pct
