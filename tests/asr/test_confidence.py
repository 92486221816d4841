"""The probability of a recognition: its arithmetic, and what it may not do whatever was fitted."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.asr.confidence import ALONE, BOTH, Confidence, features, in_the_moment, logit
from assistant.ports import Evidence

costs = st.floats(0.0, 6.0)
leads = st.floats(-30.0, 30.0)


def evidence(*costs: float, leads: tuple[float, ...] = (10.0, 10.0), phones: int = 12) -> Evidence:
    return Evidence(costs, leads, phones)


def test_it_is_the_logistic_of_the_weighted_sum() -> None:
    """By hand: 1 - 2 * 0.3 - 1 * 0.5 + 0.5 * 2 + 0.25 * ln 8 - 4 * 0.5 / 8."""
    confidence = Confidence(1.0, -2.0, -1.0, 0.5, 0.25, -4.0)
    found = confidence.probability(evidence(0.5, 0.3, leads=(5.0, 3.0), phones=8))
    assert found == pytest.approx(1 / (1 + math.exp(-(1 - 0.6 - 0.5 + 1.0 + 0.25 * math.log(8) - 0.25))))


@pytest.mark.parametrize("confidence", [BOTH, *ALONE.values()])
@given(costs, costs, leads, leads, st.integers(1, 60), st.floats(0.1, 3.0))
def test_what_fits_worse_or_leads_less_is_never_surer(
    confidence: Confidence, one: float, other: float, lead: float, second: float, phones: int, more: float
) -> None:
    found = confidence.probability(evidence(one, other, leads=(lead, second), phones=phones))
    worse = confidence.probability(evidence(one + more, other + more, leads=(lead, second), phones=phones))
    nearer = confidence.probability(evidence(one, other, leads=(lead - more, second - more), phones=phones))
    assert 0.0 < found < 1.0
    assert worse <= found
    assert nearer <= found


@pytest.mark.parametrize("confidence", [BOTH, *ALONE.values()])
def test_a_perfect_sentence_is_acted_on_and_a_hopeless_one_left_alone(confidence: Confidence) -> None:
    assert confidence.probability(evidence(0.0, 0.1, leads=(20.0, 20.0))) > 0.95
    assert confidence.probability(evidence(3.0, 4.0, leads=(1.0, 1.0))) < 0.05


def test_leads_and_costs_have_an_end() -> None:
    assert features(evidence(9.0, 99.0, leads=(500.0, 400.0))) == features(
        evidence(5.0, 5.0, leads=(20.0, 20.0))
    )


@given(st.floats(0.001, 0.999), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_the_more_unexpected_the_less_sure(probability: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert in_the_moment(probability, more) <= in_the_moment(probability, less)


def test_log_odds_of_certainty_are_finite() -> None:
    assert logit(0.5) == 0.0
    assert math.isfinite(logit(0.0))
    assert math.isfinite(logit(1.0))
