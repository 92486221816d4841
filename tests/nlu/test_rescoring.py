"""What could have been meant changes the order of what was heard alike, and nothing more."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.nlu.rescoring import needed_margin, rescored
from assistant.ports import Hypothesis, Recognition

NUMBERS = {"water fifty": 0.0, "water fifteen": 0.5, "water fifty three": 1.0}


def surprise(meaning: str | None) -> float:
    return 1.0 if meaning is None else NUMBERS[meaning]


def heard(text: str, *rivals: tuple[str, float], accepted: bool = True) -> Recognition[str]:
    behind = [distance for _, distance in rivals]
    alternatives = tuple(Hypothesis(other, other, 0.9, distance) for other, distance in rivals)
    best = Hypothesis(text, text, 0.5)
    return Recognition(best, accepted, min(behind, default=math.inf), alternatives)


def test_an_expected_sentence_is_no_surer_than_it_sounded() -> None:
    assert rescored(heard("water fifty", ("water fifteen", 2.0)), surprise, 4.0).margin == 2.0


def test_an_odd_sentence_heard_clearly_stays() -> None:
    found = rescored(heard("water fifty three", ("water fifty", 9.0)), surprise, 4.0)
    assert found.text == "water fifty three"
    assert found.margin == pytest.approx(5.0)


def test_one_that_is_set_back_is_asked_about() -> None:
    found = rescored(heard("water fifty three", ("water fifty", 1.0)), surprise, 4.0)
    assert (found.text, found.margin, found.cost) == ("water fifty", 0.0, 0.9)


@pytest.mark.parametrize(
    "found", [heard("water fifteen"), heard("water fifteen", ("water fifty", 0.1), accepted=False)]
)
def test_without_rivals_or_not_accepted_it_stays(found: Recognition[str]) -> None:
    assert rescored(found, surprise, 4.0) == found


@given(
    st.sampled_from(sorted(NUMBERS)),
    st.lists(st.tuples(st.sampled_from(sorted(NUMBERS)), st.floats(0, 30)), min_size=1, max_size=3),
    st.floats(0, 10),
)
def test_it_changes_no_more_than_the_weight(
    text: str, rivals: list[tuple[str, float]], weight: float
) -> None:
    found = heard(text, *rivals)
    again = rescored(found, surprise, weight)
    assert again.margin <= found.margin
    if found.margin > weight:
        assert again.text == text
        assert again.margin >= found.margin - weight - 1e-9


def test_in_noise_a_wider_margin_is_needed() -> None:
    margins = [needed_margin(3.0, ratio) for ratio in (60.0, 20.0, 10.0, 5.0, -10.0)]
    assert margins == pytest.approx([3.0, 3.0, 3.75, 4.125, 4.5])
    assert needed_margin(3.0, None) == 3.0
