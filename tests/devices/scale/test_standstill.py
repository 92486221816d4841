"""The mean of a standstill: what a motor's swell leaves of it, against the figures of the Hann window."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.devices.scale.standstill import SPAN_S, resting
from tests.bench.pours import year


def swell(hertz: float, phase: float, seconds: float = SPAN_S, rate: float = 10.0) -> float:
    """What is left of a swell of 1 g."""
    times = np.arange(round(seconds * rate)) / rate
    grams = 1000 + np.sin(2 * np.pi * hertz * times + phase)
    return resting([*zip(times.tolist(), grams.tolist(), strict=True)]) - 1000


@pytest.mark.parametrize("hertz", np.arange(2 / SPAN_S, 5.0, 0.07))
def test_a_swell_faster_than_two_periods_is_gone_but_for_the_first_side_lobe(hertz: float) -> None:
    # Harris, Proceedings of the IEEE 66(1):51-83, 1978, table 1: highest side lobe of the Hann window -31 or
    # -32 dB.
    left = max(abs(swell(hertz, phase)) for phase in np.linspace(0, np.pi, 8))
    assert left <= 10 ** (-31 / 20)


@pytest.mark.parametrize("rate", [10.0, 80.0])
@pytest.mark.parametrize("hertz", [0.2, 0.3, 0.5, 0.6])
def test_a_slower_swell_is_fitted_and_taken_out(hertz: float, rate: float) -> None:
    left = [abs(swell(hertz, phase, rate=rate)) for phase in np.linspace(0, np.pi, 8)]
    assert max(left) < 0.05


def test_of_half_a_period_nobody_can_tell_the_level() -> None:
    assert max(abs(swell(0.1, phase)) for phase in np.linspace(0, np.pi, 8)) > 0.5


@given(st.lists(st.floats(-500, 500), min_size=1, max_size=240), st.floats(0, 3000))
def test_the_level_lies_among_the_samples(noise: list[float], level: float) -> None:
    found = resting([(index / 80, level + one) for index, one in enumerate(noise)])
    assert level + min(noise) - 1e-6 <= found <= level + max(noise) + 1e-6


def test_a_jug_that_is_still_being_set_down_is_no_swell() -> None:
    """What falls off to a level is not drawn out beyond it."""
    grams = [(i / 10, 1000 + 40 * float(np.exp(-i / 3))) for i in range(30)]
    assert resting(grams) == pytest.approx(1000, abs=2)


def test_weights_are_those_of_the_hann_window() -> None:
    grams = np.random.default_rng(1).uniform(-1, 1, 30)
    odd = np.hanning(2 * 30 + 1)[1::2]  # numpy's window, at the middles of our samples
    assert resting([(i / 10, float(g)) for i, g in enumerate(grams)]) == pytest.approx(
        float(np.average(grams, weights=odd)), abs=1e-9
    )


def test_a_spike_moves_it_by_no_more_than_the_noise() -> None:
    grams = np.random.default_rng(2).normal(1000, 0.1, 30)
    grams[15] = 1500
    assert resting([(i / 10, float(g)) for i, g in enumerate(grams)]) == pytest.approx(1000, abs=0.15)


def test_one_sample_is_what_it_is() -> None:
    assert resting([(0.0, 7.0)]) == 7.0


@pytest.mark.parametrize("motor_hz", [48.4, 49.0, 49.3])
def test_next_to_a_motor_of_8_g_at_10_samples_a_second_pours_are_what_was_poured(motor_hz: float) -> None:
    tally = year(10.0, 8.0, 12, motor_hz)
    assert (tally.missed, tally.phantom) == (0, 0)
    assert np.median(np.abs(tally.errors)) <= 0.5
    assert np.percentile(np.abs(tally.errors), 95) <= 2.0
