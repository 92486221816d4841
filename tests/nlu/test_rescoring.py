"""What could have been meant changes the order of what was heard alike, and nothing more."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record import commands as cmd
from assistant.dough.amounts import Amount
from assistant.nlu.rescoring import (
    SURPRISE,
    TEENS_CLEAR_DB,
    TWIN_LEADS,
    is_twin_near,
    needed_margin,
    negation_near,
    rescored,
    same_again_instead,
)
from assistant.ports import Evidence, Hypothesis, Recognition

NUMBERS = {"water fifty": 0.0, "water fifteen": 0.5, "water fifty three": 1.0}


def surprise(meaning: str | None) -> float:
    return 1.0 if meaning is None else NUMBERS[meaning]


def heard(text: str, *rivals: tuple[str, float], accepted: bool = True) -> Recognition[str]:
    behind = [distance for _, distance in rivals]
    alternatives = tuple(Hypothesis(other, other, 0.9, distance) for other, distance in rivals)
    best = Hypothesis(text, text, 0.5)
    sure = 0.95 if accepted else 0.2
    return Recognition(best, accepted, min(behind, default=math.inf), alternatives, sure=sure)


def test_an_expected_sentence_is_no_surer_than_it_sounded() -> None:
    assert rescored(heard("water fifty", ("water fifteen", 2.0)), surprise).margin == 2.0


def test_an_odd_sentence_heard_clearly_stays() -> None:
    found = rescored(heard("water fifty three", ("water fifty", 9.0)), surprise)
    assert found.text == "water fifty three"
    assert found.margin == pytest.approx(5.0)


def test_one_that_is_set_back_is_asked_about() -> None:
    found = rescored(heard("water fifty three", ("water fifty", 1.0)), surprise)
    assert (found.text, found.margin, found.cost) == ("water fifty", 0.0, 0.9)
    assert 0.6 <= found.sure < 0.75


def ready(rival: str, *leads: float, means: str | None = None) -> Recognition[str]:
    """ "The crumb is ready", surely heard, with this rival behind."""
    lead = sum(leads) / len(leads)
    turned = Hypothesis(rival, means, 0.5, lead)
    behind = (turned,) if len(leads) > 1 else (Hypothesis("the crumb is ready so", "so", 0.4, 0.5), turned)
    evidence = Evidence(costs=(0.3, 0.5), leads=leads, phones=12)
    best = Hypothesis("the crumb is ready", "ready", 0.3)
    return Recognition(best, True, lead, behind, sure=0.94, evidence=evidence)


@pytest.mark.parametrize(
    ("found", "near"),
    [
        (ready("the crumb isn't ready", -0.9, 15.2), True),
        (ready("the crumb is not ready", 15.2, -0.1), True),
        (ready("the crumb isn't ready", 0.9, 13.2), False),  # both networks hear it so
        (ready("they crumb is ready", -0.9, 15.2), False),  # talk, and the same
        (ready("the crumb isn't ready", -0.9, 15.2, means="no talk"), False),
        (ready("the crumb isn't ready", 8.1), True),  # one network, which is not clear of it
        (ready("the crumb isn't ready", 9.1), False),
        (ready("they crumb is ready", 3.9), False),
        (ready("no crumb is ready", 3.9), False),  # as "no batch two kilos" for "new batch"
    ],
)
def test_what_may_have_been_turned_round_is_asked_about(found: Recognition[str], *, near: bool) -> None:
    """As heard of one voice: "the crumb isn't ready", of which one network loses the n't."""
    assert negation_near(found) is near
    sure = rescored(found, lambda _: 0.0).sure
    assert 0.6 <= sure < 0.75 if near else sure > 0.9


@pytest.mark.parametrize(
    "found", [heard("water fifteen"), heard("water fifteen", ("water fifty", 0.1), accepted=False)]
)
def test_without_rivals_or_not_accepted_its_place_stays(found: Recognition[str]) -> None:
    again = rescored(found, surprise)
    assert (again.best, again.margin) == (found.best, found.margin)


@given(
    st.sampled_from(sorted(NUMBERS)),
    st.lists(st.tuples(st.sampled_from(sorted(NUMBERS)), st.floats(0, 30)), min_size=1, max_size=3),
)
def test_it_changes_no_more_than_the_penalty(text: str, rivals: list[tuple[str, float]]) -> None:
    found = replace(heard(text, *rivals), sure=0.9)
    again = rescored(found, surprise)
    assert again.margin <= found.margin
    if found.margin > SURPRISE:
        assert again.text == text
        assert again.margin >= found.margin - SURPRISE - 1e-9


def test_what_could_hardly_be_meant_is_less_sure() -> None:
    found = replace(heard("water fifty three", ("water fifty", 9.0)), sure=0.95)
    likely = replace(heard("water fifty", ("water fifty three", 9.0)), sure=0.95)
    assert rescored(found, surprise).sure < 0.85 < rescored(likely, surprise).sure


def test_in_noise_a_wider_margin_is_needed() -> None:
    margins = [needed_margin(ratio) for ratio in (60.0, 20.0, 10.0, 5.0, -10.0)]
    assert margins == pytest.approx([4.0, 4.0, 5.0, 5.5, 6.0])
    assert needed_margin(None) == 4.0


# ---- twins


def water(value: float) -> cmd.Command:
    return cmd.AddWater(Amount(value))


def entry(meant: cmd.Command | None, *rivals: tuple[cmd.Command | None, float]) -> Recognition[cmd.Command]:
    alternatives: tuple[Hypothesis[cmd.Command], ...] = tuple(
        Hypothesis("as heard", rival, 0.9, behind) for rival, behind in rivals
    )
    return Recognition(Hypothesis("as heard", meant, 0.5), True, 20.0, alternatives)


@pytest.mark.parametrize(
    ("behind", "near"), [(0.0, True), (4 * TWIN_LEADS - 0.1, True), (4 * TWIN_LEADS, False)]
)
@pytest.mark.parametrize(("said", "other"), [(50, 15), (15, 50), (150, 115)])
def test_a_twin_is_near_within_three_margins(said: float, other: float, behind: float, near: bool) -> None:
    assert is_twin_near(entry(water(said), (None, 1.0), (water(other), behind)), None) is near


@pytest.mark.parametrize("rival", [water(60), cmd.AddFlour(Amount(15)), cmd.PourRest(), None], ids=str)
def test_what_is_not_the_same_with_the_twin_is_no_twin(rival: cmd.Command | None) -> None:
    assert not is_twin_near(entry(water(50), (rival, 0.5)), None)
    assert not is_twin_near(entry(None, (rival, 0.5)), None)


def test_in_one_breath_each_command_counts() -> None:
    mix = cmd.Mix()
    both = [cmd.Together((water(value), mix)) for value in (50, 15)]
    assert is_twin_near(entry(both[0], (both[1], 2.0)), None)
    assert not is_twin_near(entry(both[0], (cmd.Together((water(50), cmd.Rest())), 2.0)), None)
    assert not is_twin_near(entry(both[0], (cmd.Together((water(15), mix, mix)), 2.0)), None)


@pytest.mark.parametrize(
    ("command", "snr_db", "near"),
    [
        (water(15), TEENS_CLEAR_DB - 1, True),
        (water(15), TEENS_CLEAR_DB, False),
        (water(15), None, False),
        (water(50), 0.0, False),
        (water(413), 10.0, True),
        (cmd.GivenAmount(Amount(17)), 10.0, True),
        (cmd.Together((water(15), cmd.Mix())), 10.0, True),
        (cmd.Together((water(50), cmd.Mix())), 10.0, False),
        (cmd.AddWater(Amount(15, exact=True)), 10.0, False),
        (cmd.Portions(15), 10.0, False),
        (cmd.Ask("next"), 10.0, False),
    ],
    ids=str,
)
def test_in_noise_a_teen_may_be_a_ty(command: cmd.Command, snr_db: float | None, near: bool) -> None:
    assert is_twin_near(entry(command), snr_db) is near


# ---- the same again


@pytest.mark.parametrize(("behind", "same"), [(5.0, True), (10.9, True), (11.0, False), (12.0, False)])
def test_say_again_may_be_same_again_where_that_comes_near(behind: float, same: bool) -> None:
    found = same_again_instead(entry(cmd.SayAgain(), (cmd.Undo(), 4.5), (cmd.SameAgain(), behind)))
    if same:
        assert (found.meaning, found.margin) == (cmd.SameAgain(), 0.0)
    else:
        assert (found.meaning, found.margin) == (cmd.SayAgain(), 20.0)


def test_nothing_else_is_taken_for_same_again() -> None:
    for found in (
        entry(cmd.SayAgain()),
        entry(cmd.Undo(), (cmd.SameAgain(), 1.0)),
        replace(entry(cmd.SayAgain(), (cmd.SameAgain(), 1.0)), accepted=False),
    ):
        assert same_again_instead(found) == found
