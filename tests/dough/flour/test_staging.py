"""How much water goes in before each look at the crumb."""

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.censored import Mixture
from assistant.dough.flour.staging import KNOWN_WITHIN_PCT, after_dry_pct, is_well_known
from assistant.dough.lots import Forecast
from tests.batch.kitchen import forecast


def after(dry: float, found: Forecast | None, *, again: bool = False, target: float = 31.0) -> float:
    return after_dry_pct(dry, found, target_pct=target, high_pct=33.0, step_pct=1.0, again=again)


def test_without_a_lot_it_is_the_target_and_then_steps() -> None:
    """Staged pour to the target, top-ups of 1 % of the flour: common practice, no source."""
    assert after(22.3, None) == 31.0
    assert after(31.0, None) == 32.0
    assert after(32.6, None) == 33.0
    vague = forecast("12", 1, 31.0, spread=KNOWN_WITHIN_PCT)
    assert not is_well_known(vague)
    assert after(22.3, vague) == 31.0


def test_of_a_lot_it_is_half_the_width_of_ready_past_the_likely_end() -> None:
    """Far above what was dry, knowing that it was dry tells next to nothing (normal distribution)."""
    found = forecast("12", 9, 30.2, spread=0.3)
    assert after(28.0, found) == pytest.approx(30.7, abs=0.01)
    assert after(28.0, replace(found, window_pct=0.6)) == pytest.approx(30.5, abs=0.01)


def test_that_it_was_dry_moves_the_likely_end_up() -> None:
    """Above its mean a normal has its middle 0.6745 standard deviations out (its upper quartile)."""
    found = forecast("12", 9, 30.0, spread=0.3)
    assert after(30.0, found) == pytest.approx(30.0 + 0.6745 * 0.3 + 0.5, abs=0.01)


def test_a_lot_of_which_less_is_known_is_not_poured_into_the_wet() -> None:
    """A fifth of a normal lies 0.8416 standard deviations below its mean: ready ends a point above that."""
    found = forecast("12", 9, 30.5, spread=0.8)
    assert after(27.0, found) == pytest.approx(30.5 - 0.8416 * 0.8 + 1.0, abs=0.02)


def test_to_a_cook_who_judges_late_it_is_the_middle_of_what_both_call_ready() -> None:
    late = replace(forecast("12", 9, 30.2, spread=0.3), bias_pct=0.4)
    assert after(28.0, late) == pytest.approx(30.9, abs=0.01)


def test_the_second_time_no_more_than_a_step_goes_in() -> None:
    found = forecast("12", 9, 31.5, spread=0.3)
    assert after(30.0, found) == pytest.approx(32.0, abs=0.01)
    assert after(30.0, found, again=True) == pytest.approx(31.0)


@given(st.floats(25, 36), st.floats(27, 36), st.floats(0.1, 0.9), st.booleans())
def test_never_past_high_nor_back(dry: float, likely: float, spread: float, again: bool) -> None:
    found = after(dry, forecast("12", 5, likely, spread), again=again)
    assert dry <= found <= max(dry, 33.0)


def test_it_is_where_the_crumb_is_likeliest_ready() -> None:
    """By simulation: no other pour is ready more often by more than 4,000 draws scatter (1.5 %)."""
    found = forecast("12", 9, 30.4, spread=0.35)
    luck = random.Random(3)
    ends = [end for end in (luck.gauss(30.4, 0.35) for _ in range(4300)) if end > 29.8][:4000]

    def ready(pct: float) -> float:
        return sum(end < pct <= end + 1.0 for end in ends) / len(ends)

    best = max(ready(29.9 + 0.05 * k) for k in range(40))
    assert ready(after(29.8, found)) >= best - 0.015


def test_an_end_far_below_what_was_dry_still_gives_a_step() -> None:
    found = forecast("12", 9, 28.0, spread=0.2)
    found = replace(found, ends=Mixture([(1.0, 28.0, 0.04)]))
    assert after(31.0, found) >= 31.25
