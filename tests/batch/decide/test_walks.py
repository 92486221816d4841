"""Walk-throughs: step by step, left and taken up, a safety step never passed over in silence."""

from dataclasses import replace

import pytest

from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import AddWater, Answer, Ask, NewBatch, Walk, WalkMove
from assistant.errors import ImpossibleEvent
from tests.batch.kitchen import CHANGE, REMEMBERS, Kitchen, Spoken, typed

FIRST: list[Spoken] = [("walk_step", {"step": "Off and unplugged."})]
SECOND: list[Spoken] = [("walk_caution", {"caution": "No steel."}), ("walk_step", {"step": "Scrape it."})]
THIRD: list[Spoken] = [("walk_step", {"step": "Close the guard."})]


@pytest.fixture
def kitchen() -> Kitchen:
    return Kitchen(known=REMEMBERS)


def at_second(kitchen: Kitchen) -> Kitchen:
    kitchen.say(Walk("clean down"))
    kitchen.say(WalkMove("done"))
    return kitchen


def test_it_is_spoken_step_by_step_with_each_caution_before_its_step(kitchen: Kitchen) -> None:
    begun: Spoken = ("walk_begun", {"walk": "clean down", "steps": 3})
    assert kitchen.say(Walk("clean down")) == [begun, *FIRST]
    assert kitchen.say(WalkMove("done")) == SECOND
    assert kitchen.say(WalkMove("next")) == THIRD
    assert kitchen.say(WalkMove("done")) == [("walk_over", {"walk": "clean down"})]
    assert kitchen.state.walks == ()
    kitchen.check()


def test_next_does_not_pass_a_safety_step(kitchen: Kitchen) -> None:
    kitchen.say(Walk("clean down"))
    before = kitchen.state
    assert kitchen.say(WalkMove("next")) == [("walk_safety", {})]
    assert kitchen.state == before


def test_a_skipped_safety_step_is_said_back_and_logged(kitchen: Kitchen) -> None:
    kitchen.say(Walk("clean down"))
    kitchen.now = 7.0
    said = kitchen.say(WalkMove("skip"))
    assert said == [("walk_skipped_safety", {"step": "Off and unplugged."}), ("walk_waits", {"number": 2})]
    assert kitchen.say(Ask("next")) == SECOND
    assert kitchen.events[-1] == sh.StepSettled(
        at=7.0, walk="clean down", step=1, text="Off and unplugged.", outcome="skipped", safety=True
    )
    assert kitchen.keys(WalkMove("skip")) == ["walk_skipped", "walk_step"]
    assert kitchen.say(WalkMove("done")) == [("walk_over_skipped", {"walk": "clean down", "skipped": 2})]


def test_going_back_and_doing_it_after_all_mends_a_skip(kitchen: Kitchen) -> None:
    kitchen.say(Walk("clean down"))
    assert kitchen.keys(WalkMove("back")) == ["walk_at_first", "walk_step"]
    kitchen.say(WalkMove("skip"))
    assert kitchen.say(WalkMove("back")) == FIRST
    for _ in range(2):
        kitchen.say(WalkMove("done"))
    assert kitchen.keys(WalkMove("done")) == ["walk_over"]
    kitchen.check()


def test_one_that_was_left_goes_on_with_its_safety_step_said_again(kitchen: Kitchen) -> None:
    at_second(kitchen)
    assert kitchen.say(WalkMove("leave")) == [("walk_left", {"walk": "clean down"})]
    assert kitchen.say(WalkMove("done")) == []
    kitchen.now += 3600
    assert kitchen.say(Walk("clean down")) == [
        ("walk_caution", {"caution": "Off and unplugged."}),
        ("walk_waits", {"number": 2}),
    ]
    assert kitchen.say(Ask("next")) == SECOND


def test_one_that_was_left_long_ago_begins_anew(kitchen: Kitchen) -> None:
    at_second(kitchen)
    kitchen.say(WalkMove("leave"))
    kitchen.now += 3601
    assert kitchen.keys(Walk("clean down")) == ["walk_begun", "walk_step"]
    kitchen.check()


def test_another_one_leaves_the_open_one_where_it_stands(kitchen: Kitchen) -> None:
    at_second(kitchen)
    assert kitchen.keys(Walk("die change")) == ["walk_begun", "walk_step"]
    kitchen.say(WalkMove("leave"))
    assert kitchen.keys(Walk("clean down"))[-1] == "walk_waits"
    assert kitchen.state.walk is not None
    assert kitchen.state.walk.at == 1
    kitchen.check()


def test_asked_for_again_it_says_its_step_again(kitchen: Kitchen) -> None:
    at_second(kitchen)
    assert kitchen.say(Walk("clean down")) == SECOND
    assert kitchen.say(Ask("next")) == SECOND
    assert kitchen.keys(Ask("help")) == ["help_walk"]


def test_a_batch_goes_on_beside_it_with_its_account(kitchen: Kitchen) -> None:
    kitchen.say(NewBatch(typed(1500)))
    kitchen.say(AddWater(typed(300)))
    kitchen.say(Walk("die change"))
    kitchen.say(WalkMove("done"))
    kitchen.say(AddWater(typed(30)))
    kitchen.say(WalkMove("done"))
    assert (kitchen.batch.water_g, kitchen.state.walk) == (330, None)
    kitchen.check()


def test_a_power_cut_in_it_says_where_it_stands_and_what_it_began_with(kitchen: Kitchen) -> None:
    at_second(kitchen)
    kitchen.now = 500.0
    said = kitchen.restart(off=40.0, now=12.0)
    assert [key for key, _ in said] == ["ready", "walk_caution", "walk_waits"]
    assert kitchen.state.walk is not None
    assert kitchen.state.walk.began_at == 12.0 - 40.0 - 500.0
    kitchen.check()


def test_what_was_not_heard_well_is_asked_about(kitchen: Kitchen) -> None:
    assert kitchen.keys(Walk("clean down"), unsure=True) == ["ask_unsure"]
    assert kitchen.keys(Answer(yes=True)) == ["walk_begun", "walk_step"]
    assert kitchen.keys(WalkMove("done"), unsure=True) == ["ask_unsure"]
    assert kitchen.keys(Answer(yes=False)) == ["not_logged"]
    assert kitchen.state.walk is not None
    assert kitchen.state.walk.at == 0


def test_moves_without_a_walk_through_are_talk_even_beside_a_question(kitchen: Kitchen) -> None:
    assert kitchen.say(WalkMove("done")) == []
    kitchen.say(NewBatch(typed(1500)), unsure=True)
    assert kitchen.say(WalkMove("done")) == []
    assert kitchen.state.question is not None


def test_one_that_nobody_wrote_is_told() -> None:
    assert Kitchen().say(Walk("stock take")) == [("walk_unknown", {"walk": "stock take"})]


def test_a_step_out_of_turn_is_our_bug(kitchen: Kitchen) -> None:
    from assistant.batch.record.evolving.evolve import evolve

    kitchen.say(Walk("clean down"))
    settled = sh.StepSettled(
        at=1.0, walk="clean down", step=2, text="Scrape it.", outcome="done", safety=False
    )
    with pytest.raises(ImpossibleEvent, match="step 2 of clean down: it stands at 1"):
        evolve(kitchen.state, settled)
    with pytest.raises(ImpossibleEvent, match="die change began: clean down is still open"):
        evolve(kitchen.state, sh.WalkBegan(at=1.0, walk="die change", steps=CHANGE.steps))


def test_steps_are_those_it_was_begun_with(kitchen: Kitchen) -> None:
    at_second(kitchen)
    kitchen.known = replace(REMEMBERS, walks={})
    assert kitchen.keys(WalkMove("done")) == ["walk_step"]
