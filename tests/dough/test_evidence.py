"""What verdicts tell of the end of a batch."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.evidence import NARROWEST_PCT, Bounds, Squeeze, bounds, ready_pct

inf = math.inf


@pytest.mark.parametrize(
    ("squeezes", "final", "found"),
    [
        # Dry at 30.4: the end is above. Ready at 31: it is not above 31.
        ([("dry", 30.4), ("ready", 31.0)], 31.0, Bounds(30.4, 31.0)),
        ([("dry", 22.3), ("ready", 31.0)], 31.0, Bounds(30.0, 31.0)),
        ([("ready", 31.0)], 31.0, Bounds(30.0, 31.0)),
        ([("dry", 30.0), ("dry", 32.5)], 32.5, Bounds(32.5, inf)),
        ([("wet", 32.0)], 32.0, Bounds(-inf, 32.0)),
        ([("wet", 32.0), ("ready", 31.0)], 31.0, Bounds(30.0, 31.0)),
        # Ready, and a splash more: it was ready before.
        ([("dry", 30.5), ("ready", 31.0)], 31.4, Bounds(30.5, 31.0)),
        # Never squeezed where it was closed: it was taken as it was.
        ([], 31.0, Bounds(30.0, 32.0)),
        ([("dry", 30.4)], 31.0, Bounds(30.4, 32.0)),
        ([("dry", 30.7)], 31.0, Bounds(30.7, 32.0)),
        # A splash of less than 0.05 points after the verdict changes nothing.
        ([("dry", 30.97)], 31.0, Bounds(30.97, inf)),
        ([("wet", 31.03)], 31.0, Bounds(-inf, 31.03)),
        # Nobody finds an end closer than a tenth of a point.
        ([("dry", 31.0), ("ready", 31.05)], 31.05, Bounds(30.975, 31.075)),
        ([("dry", 31.0), ("ready", 31.0)], 31.0, Bounds(30.95, 31.05)),
        # What was said later counts: dry at 31.5 can't be, when 31 was ready afterwards.
        ([("dry", 31.5), ("ready", 31.0)], 31.0, Bounds(30.0, 31.0)),
        ([("ready", 30.0), ("dry", 31.0), ("ready", 31.5)], 31.5, Bounds(31.0, 31.5)),
        ([], 0.0, None),
    ],
)
def test_bounds(squeezes: list[Squeeze], final: float, found: Bounds | None) -> None:
    got = bounds(squeezes, final)
    if found is None or got is None:
        assert got is found
    else:
        assert got.low == pytest.approx(found.low)
        assert got.high == pytest.approx(found.high)


def test_whether_a_percent_is_inside() -> None:
    assert 31.0 in Bounds(30.0, 31.0)
    assert 30.0 not in Bounds(30.0, 31.0)


squeezes = st.lists(
    st.tuples(st.sampled_from(["dry", "ready", "wet", "doubtful"]), st.floats(15, 45)), max_size=6
)


@given(squeezes, st.floats(15, 45))
def test_bounds_are_never_empty(verdicts: list[Squeeze], final: float) -> None:
    found = bounds(verdicts, final)
    if found is not None:
        assert found.high - found.low >= NARROWEST_PCT - 1e-9
        assert not math.isnan(found.low)
        assert not math.isnan(found.high)


@given(squeezes, st.floats(15, 45), st.floats(15, 45))
def test_a_doubtful_verdict_bounds_nothing(verdicts: list[Squeeze], pct: float, final: float) -> None:
    believed = [one for one in verdicts if one[0] != "doubtful"]
    assert bounds([("doubtful", pct), *believed, ("ready", 31.0)], final) == bounds(
        [*believed, ("ready", 31.0)], final
    )
    assert bounds([("doubtful", pct)], final) is None


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
