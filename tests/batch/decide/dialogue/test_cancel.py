""" "Cancel" alone: of what is open, the nearest first; of nothing, it is said what can be."""

import pytest

from assistant.batch.record import commands as cmd
from tests.batch.kitchen import REMEMBERS, Kitchen, mixing, typed

CANCEL = cmd.Cancel()


def test_of_a_question_it_is_no() -> None:
    kitchen = mixing(1500)
    kitchen.say(cmd.AddWater(typed(600)))
    assert kitchen.keys(CANCEL) == ["not_logged"]
    assert kitchen.batch.water_g == 0


def test_of_a_walk_through_it_leaves_that() -> None:
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.Walk("clean down"))
    assert kitchen.keys(CANCEL) == ["walk_left"]


def test_of_what_was_just_read_back_it_takes_that_back() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.keys(CANCEL)[0] == "undone_water"
    assert kitchen.batch.water_g == 0


def test_after_a_no_to_it_too() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(cmd.Answer(yes=False))
    assert kitchen.keys(CANCEL)[0] == "undone_water"


def test_later_it_only_says_how() -> None:
    kitchen = mixing(1500, 150)
    kitchen.wait(11.0)
    assert kitchen.keys(CANCEL) == ["cancel_which"]
    assert kitchen.batch.water_g == 150


def test_of_nothing_it_says_so() -> None:
    assert Kitchen().keys(CANCEL) == ["nothing_to_undo"]


@pytest.mark.parametrize("waited", [0.0, 11.0])
def test_badly_heard_it_changes_nothing(waited: float) -> None:
    kitchen = mixing(1500, 150)
    kitchen.wait(waited)
    assert kitchen.keys(CANCEL, unsure=True) == ([] if waited else ["ask_unsure"])
    assert kitchen.batch.water_g == 150
