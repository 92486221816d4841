"""The station goes dark and comes up again, in the middle of everything."""

import pytest

from assistant.batch.record.commands import (
    AddTime,
    AddWater,
    Answer,
    Ask,
    GotIt,
    JudgeCrumb,
    Listening,
    Loudness,
    Mix,
    PourRest,
    SetTimer,
    Undo,
)
from assistant.batch.record.phases import Phase
from tests.batch.kitchen import Kitchen, mixing, typed


def test_a_fresh_station_is_ready_and_writes_nothing() -> None:
    kitchen = Kitchen()
    assert kitchen.restart() == [("ready", {})]
    assert kitchen.events == []


def test_a_station_that_was_used_is_ready_too() -> None:
    kitchen = Kitchen()
    kitchen.say(Loudness(1))
    assert kitchen.restart() == [("ready", {})]
    assert kitchen.state.loudness == 1


def test_a_batch_is_taken_up_where_it_was() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.restart(off=60) == [("batch_resumed", {"batch": 1, "water": 150, "left": 315})]
    assert kitchen.say(Undo()) == [("undone_water", {"grams": 150}), ("left", {"grams": 465})]
    kitchen.check()


def test_the_account_moves_to_the_new_clock() -> None:
    kitchen = mixing(1500)
    kitchen.now = 50.0
    kitchen.say(AddWater(typed(150)))
    kitchen.now = 100.0
    kitchen.restart(off=60, now=7)
    assert (kitchen.batch.opened_at, [entry.at for entry in kitchen.batch.entries]) == (-153, [-153, -103])


def test_a_batch_past_its_target() -> None:
    assert mixing(1500, 480).restart() == [("batch_resumed_over", {"batch": 1, "water": 480, "over": 15})]


def test_a_batch_on_target_has_nothing_left() -> None:
    kitchen = mixing(1500)
    kitchen.say(PourRest())
    assert kitchen.restart() == [("batch_resumed", {"batch": 1, "water": 465, "left": 0})]


def test_a_trusted_clock_takes_the_time_off_from_the_mix() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(120))
    kitchen.wait(20)
    assert kitchen.restart(off=40, now=7) == [("batch_resumed", {"batch": 1, "water": 330, "left": 135})]
    assert kitchen.say(Ask("time")) == [("time_left", {"timer": "mix", "seconds": 60})]
    assert kitchen.wait(60) == [("mix_warning", {"seconds": 30}), ("mix_rings", {})]


def test_a_mix_that_ran_out_in_the_dark_rings_at_once() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(120))
    kitchen.restart(off=600)
    assert kitchen.wait(0) == [("mix_rings_late", {"seconds": 480})]
    assert kitchen.state.phase is Phase.SQUEEZING


def test_without_a_trusted_clock_what_is_left_is_unsure() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(120))
    kitchen.wait(20)
    assert kitchen.restart(certain=False) == [
        ("batch_resumed", {"batch": 1, "water": 330, "left": 135}),
        ("time_left_unsure", {"timer": "mix", "seconds": 100}),
    ]
    assert kitchen.say(Ask("time")) == [("time_left_unsure", {"timer": "mix", "seconds": 100})]
    kitchen.restart(certain=True)
    assert kitchen.say(Ask("time")) == [("time_left_unsure", {"timer": "mix", "seconds": 100})]
    assert kitchen.wait(100)[-1] == ("mix_rings", {})
    kitchen.check()


def test_a_ring_survives_and_goes_on_until_got_it() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(20))
    kitchen.wait(20)
    assert kitchen.restart(certain=False) == [
        ("batch_resumed", {"batch": 1, "water": 330, "left": 135}),
        ("times_unsure", {}),
    ]
    assert kitchen.wait(15) == [("mix_rings", {})]
    assert kitchen.wait(15) == [("mix_rings", {})]
    kitchen.say(GotIt())
    assert kitchen.wait(600) == []


def test_an_unsure_timer_that_is_started_anew_is_sure() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", 60))
    kitchen.restart(certain=False)
    kitchen.wait(60)
    kitchen.say(AddTime(60))
    assert kitchen.say(Ask("time")) == [("time_left", {"timer": "1", "seconds": 60})]


def test_a_question_does_not_survive_and_that_is_said() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(AddWater(typed(600)))
    assert kitchen.restart() == [
        ("lapsed", {}),
        ("batch_resumed", {"batch": 1, "water": 330, "left": 135}),
    ]
    assert kitchen.say(Answer(yes=True)) == []
    assert kitchen.batch.water_g == 330
    kitchen.check()


def test_a_station_that_does_not_listen_says_so() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Listening(on=False))
    assert kitchen.restart() == [
        ("batch_resumed", {"batch": 1, "water": 330, "left": 135}),
        ("listening_off", {}),
    ]
    assert kitchen.say(PourRest()) == []
    assert kitchen.say(Listening(on=True)) == [("listening_on", {})]


@pytest.mark.parametrize("certain", [True, False])
def test_undo_over_a_power_cut_brings_a_timer_back_on_the_new_clock(certain: bool) -> None:
    kitchen = mixing(1500, 430)
    kitchen.now = 1000
    kitchen.say(Mix(120))
    kitchen.say(JudgeCrumb("ready"))
    kitchen.restart(now=5, certain=certain)
    key = "time_left" if certain else "time_left_unsure"
    assert kitchen.say(Undo()) == [("undone_crumb", {}), (key, {"timer": "mix", "seconds": 120})]
    assert kitchen.wait(120)[-1] == ("mix_rings", {})
    kitchen.check()
