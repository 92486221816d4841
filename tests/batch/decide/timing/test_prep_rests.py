"""Rests of the prep team beside the batch's own, and timers that would have been replaced in silence."""

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record.phases import Phase
from assistant.batch.record.timer_kinds import PREP_NAMES
from tests.batch.kitchen import Kitchen, mixing


def test_a_prep_rest_gets_the_first_free_name_and_leaves_the_batch_alone() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(cmd.Rest(300))
    assert kitchen.say(cmd.PrepRest(1200)) == [("timer_set", {"timer": "prep one", "seconds": 1200})]
    assert kitchen.say(cmd.PrepRest(600)) == [("timer_set", {"timer": "prep two", "seconds": 600})]
    assert kitchen.state.phase is Phase.RESTING
    assert {t.name for t in kitchen.state.timers} == {"rest", "prep one", "prep two"}
    kitchen.say(cmd.StopTimer("prep one"))
    assert kitchen.say(cmd.PrepRest(60)) == [("timer_set", {"timer": "prep one", "seconds": 60})]
    kitchen.check()


def test_it_rings_with_the_prep_teams_wording_until_it_is_heard() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.PrepRest(600))
    assert kitchen.wait(599) == []
    assert kitchen.wait(1) == [("prep_rings", {"timer": "prep one"})]
    assert kitchen.wait(15) == [("prep_rings", {"timer": "prep one"})]
    kitchen.say(cmd.GotIt())
    assert kitchen.state.timers == ()


def test_by_its_name_it_is_set_given_time_and_asked_for() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.SetTimer("prep two", 600))
    (timer,) = kitchen.state.timers
    assert (timer.name, timer.kind) == ("prep two", "prep")
    assert kitchen.say(cmd.PrepRest(60))[0][1]["timer"] == "prep one"
    assert kitchen.say(cmd.AddTime(60, "prep two")) == [
        ("timer_extended", {"timer": "prep two", "seconds": 660})
    ]
    assert kitchen.keys(cmd.Ask("time")) == ["time_left", "time_left"]


def test_it_is_corrected_and_taken_back() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.PrepRest(600))
    kitchen.say(cmd.GivenTime(900))
    (timer,) = kitchen.state.timers
    assert (timer.name, timer.kind, timer.seconds) == ("prep one", "prep", 900)
    assert kitchen.say(cmd.Undo()) == [("undone_timer", {"timer": "prep one"})]
    assert kitchen.state.timers == ()
    kitchen.check()


def test_without_its_time_it_is_asked_for() -> None:
    kitchen = Kitchen()
    assert kitchen.say(cmd.Incomplete("prep_rest", "number")) == [
        ("number_missing", {"command": "prep_rest"})
    ]
    assert kitchen.say(cmd.GivenTime(600)) == [("timer_set", {"timer": "prep one", "seconds": 600})]


def test_there_are_names_for_nine() -> None:
    kitchen = Kitchen()
    for name in PREP_NAMES:
        assert kitchen.say(cmd.PrepRest(600))[0][1]["timer"] == name
    before = kitchen.state
    assert kitchen.say(cmd.PrepRest(600)) == [("prep_full", {"count": 9})]
    assert kitchen.state == before


@pytest.mark.parametrize("seconds", [0.0, 1e6])
def test_a_time_that_cannot_be_meant_sets_nothing(seconds: float) -> None:
    kitchen = Kitchen()
    assert kitchen.keys(cmd.PrepRest(seconds)) in (["amount_zero"], ["time_too_long"])
    assert kitchen.state.timers == ()


# ---- what ends by another command is said


@pytest.mark.parametrize(
    ("running", "command", "name", "told"),
    [
        (cmd.Rest(600), cmd.Mix(120), "rest", "mixing_for"),
        (cmd.Mix(600), cmd.Rest(120), "mix", "resting_for"),
        (cmd.Mix(600), cmd.Mix(120), "mix", "mixing_for"),
        (cmd.Rest(600), cmd.Mixer(on=True), "rest", "mixing_for"),
        (cmd.SetTimer("sauce", 600), cmd.SetTimer("sauce", 120), "sauce", "timer_set"),
        (cmd.SetTimer("rest", 600), cmd.SetTimer("mix", 120), "rest", "mixing_for"),
        (cmd.PrepRest(600), cmd.SetTimer("prep one", 120), "prep one", "timer_set"),
    ],
    ids=str,
)
def test_what_is_left_of_a_timer_that_ends_is_said(
    running: cmd.Command, command: cmd.Command, name: str, told: str
) -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(running)
    kitchen.now += 240
    assert kitchen.say(command)[0] == ("timer_over", {"timer": name, "seconds": 360})
    assert [one.key for one in kitchen.heard[-2:]] == ["timer_over", told]
    assert [one.tone for one in kitchen.heard[-2:]] == ["taken", None]
    kitchen.check()


def test_a_shape_that_is_in_the_water_is_not_replaced_in_silence() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.Cook("penne"))
    kitchen.now += 60
    assert kitchen.keys(cmd.Cook("penne")) == ["timer_over", "cooking_for"]


def test_another_name_another_kind_and_what_rings_are_not_said() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(cmd.SetTimer("sauce", 600))
    kitchen.say(cmd.PrepRest(900))
    assert kitchen.keys(cmd.SetTimer("oven", 600)) == ["timer_set"]
    assert kitchen.keys(cmd.Mix(60)) == ["mixing_for"]
    kitchen.wait(60)
    assert kitchen.keys(cmd.Rest(60)) == ["resting_for"], "the mix had run its time"


def test_the_rest_comes_back_where_the_mix_is_taken_back() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(cmd.Rest(600))
    kitchen.now += 240
    kitchen.say(cmd.Mix(120))
    assert kitchen.say(cmd.Undo()) == [
        ("undone_timer", {"timer": "mix"}),
        ("time_left", {"timer": "rest", "seconds": 360}),
    ]
