"""A lot that climbs: the run of batches that ends with the newest."""

import itertools

import hypothesis.strategies as st
import pytest
from hypothesis import given

from assistant.dough.evidence import Bounds
from assistant.dough.lots import CLIMB_BATCHES, LEAST_CLIMB_PCT, LotRecord, Seen, climbed, is_climb_called

steps = st.floats(LEAST_CLIMB_PCT + 0.01, 2.0)
hydrations = st.lists(st.floats(20.0, 45.0), max_size=12)


@pytest.mark.parametrize(
    ("pcts", "batches"),
    [
        ([], 0),
        ([31.0], 1),
        ([31.0, 31.0], 1),
        ([31.0, 31.05], 1),
        ([31.0, 31.1], 2),
        ([31.0, 30.0, 30.2, 30.4, 30.6, 30.8], 5),
        ([30.0, 30.2, 30.4, 30.6, 30.8, 30.7], 1),
    ],
)
def test_worked_examples(pcts: list[float], batches: int) -> None:
    assert climbed(pcts) == batches


@given(st.floats(20.0, 35.0), st.lists(steps, max_size=11))
def test_whatever_rises_all_along_is_one_climb(first: float, rises: list[float]) -> None:
    pcts = [*itertools.accumulate([first, *rises])]
    assert climbed(pcts) == len(pcts)


@given(hydrations, st.floats(0.0, 5.0))
def test_a_batch_that_is_not_higher_ends_a_climb(pcts: list[float], lower: float) -> None:
    if pcts:
        assert climbed([*pcts, pcts[-1] - lower]) == 1


@given(hydrations, hydrations)
def test_what_lies_before_the_climb_does_not_count(before: list[float], pcts: list[float]) -> None:
    run = climbed(pcts)
    assert run <= len(pcts)
    if run < len(pcts):
        assert climbed([*before, *pcts]) == run
    shifted = [pct + 1.0 for pct in pcts]
    assert abs(climbed(shifted) - run) == 0 or any(
        abs(b - a - LEAST_CLIMB_PCT) < 1e-9 for a, b in itertools.pairwise(pcts)
    )


def test_a_climb_is_called_with_the_fifth_batch_and_with_every_fifth_after_it() -> None:
    assert [run for run in range(16) if is_climb_called(run)] == [5, 10, 15]
    assert CLIMB_BATCHES == 5


def test_of_batches_that_only_scatter_one_run_of_five_in_120_looks_like_a_climb() -> None:
    orders = list(itertools.permutations([30.0, 30.3, 30.6, 30.9, 31.2]))
    assert sum(climbed(order) == 5 for order in orders) * 120 == len(orders)


def test_a_batch_that_was_never_called_ready_does_not_break_a_climb() -> None:
    ready = [30.0, None, 30.2, 30.4, 30.6, None, 30.8]
    seen = tuple(Seen(float(day), Bounds(29, 31), day, pct) for day, pct in enumerate(ready))
    assert LotRecord("12", seen=seen).climbed == 5
