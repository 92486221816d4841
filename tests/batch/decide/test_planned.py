"""The day's plan drives what comes next and a batch without a number."""

from dataclasses import replace

import pytest

from assistant.batch.record.commands import (
    Answer,
    Ask,
    CloseBatch,
    DropBatch,
    Incomplete,
    NewBatch,
    PourRest,
    Topic,
    Undo,
    UseRecipe,
)
from assistant.batch.record.rules import PlanTime
from tests.batch.kitchen import PLANNED, REMEMBERS, Kitchen, typed

WITHOUT_A_NUMBER = Incomplete("new_batch", "number")


def planned() -> Kitchen:
    return Kitchen(known=replace(REMEMBERS, plan=PLANNED))


def test_what_next_is_the_plans_next_batch() -> None:
    kitchen = planned()
    told = [("next_planned", {"die": "rigatoni", "flour": 1500, "start": "16:30"})]
    assert kitchen.say(Ask("next")) == told
    assert kitchen.say(Ask("plan")) == told


@pytest.mark.parametrize(
    ("time", "key", "value"),
    [
        (PlanTime(0, 16 * 3600.0), "next_planned", ("start", "16:30")),
        (PlanTime(0, 16.5 * 3600.0 + 59), "next_planned", ("start", "16:30")),
        (PlanTime(0, 17 * 3600.0), "next_planned_late", ("seconds", 1800.0)),
        (PlanTime(1, 9 * 3600.0), "next_planned_old", ("days", 1)),
        (PlanTime(5, 9 * 3600.0), "next_planned_old", ("days", 5)),
        (PlanTime(-1, 23 * 3600.0), "next_planned", ("start", "16:30")),
    ],
)
@pytest.mark.parametrize("topic", ["next", "plan"])
def test_a_plan_that_is_late_or_of_another_day_is_called_so(
    topic: Topic, time: PlanTime, key: str, value: tuple[str, object]
) -> None:
    kitchen = planned()
    kitchen.known = replace(kitchen.known, plan_time=time)
    ((said, values),) = kitchen.say(Ask(topic))
    name, expected = value
    assert (said, values["die"], values["flour"], values[name]) == (key, "rigatoni", 1500, expected)


def test_new_batch_without_a_number_opens_it_with_its_recipe() -> None:
    kitchen = planned()
    assert kitchen.keys(WITHOUT_A_NUMBER) == ["batch_opened_planned", "first_pour"]
    assert kitchen.batch.flour_g == 1500
    kitchen.say(CloseBatch())
    assert kitchen.say(Ask("plan")) == [
        ("next_planned", {"die": "egg tagliatelle", "flour": 1000, "start": "17:30"})
    ]
    kitchen.say(WITHOUT_A_NUMBER)
    assert kitchen.batch.recipe == "egg"
    kitchen.say(PourRest())
    assert kitchen.keys(CloseBatch()) == ["ask_addition"]
    assert kitchen.keys(Answer(yes=True)) == ["addition_in", "batch_closed"]
    assert kitchen.say(Ask("plan")) == [("plan_over", {})]
    assert kitchen.say(Ask("next")) == [("next_open", {})]
    assert kitchen.say(WITHOUT_A_NUMBER) == [("number_missing", {"command": "new_batch"})]
    kitchen.check()


def test_the_same_flour_said_in_words_is_the_same_batch_and_another_is_not() -> None:
    kitchen = planned()
    assert kitchen.keys(NewBatch(typed(800)))[0] == "batch_opened"
    kitchen.say(CloseBatch())
    assert kitchen.keys(NewBatch(typed(1500)))[0] == "batch_opened_planned"


def test_a_batch_that_was_dropped_or_taken_back_is_still_to_be_made() -> None:
    kitchen = planned()
    for ending in (DropBatch(), Undo()):
        kitchen.say(WITHOUT_A_NUMBER)
        kitchen.say(ending)
        assert kitchen.say(Ask("plan"))[0][1]["die"] == "rigatoni"
    kitchen.say(WITHOUT_A_NUMBER)
    kitchen.say(CloseBatch())
    kitchen.say(Undo())
    kitchen.say(DropBatch())
    assert kitchen.say(Ask("plan"))[0][1]["die"] == "rigatoni"
    kitchen.check()


def test_what_the_cook_chose_counts_more_than_the_plan() -> None:
    kitchen = planned()
    kitchen.say(WITHOUT_A_NUMBER)
    kitchen.say(CloseBatch())
    kitchen.say(UseRecipe("wholegrain"))
    kitchen.say(WITHOUT_A_NUMBER)
    assert kitchen.batch.recipe == "wholegrain"


def test_an_open_batch_is_not_opened_again() -> None:
    kitchen = planned()
    kitchen.say(WITHOUT_A_NUMBER)
    assert kitchen.keys(WITHOUT_A_NUMBER) == ["batch_already_open"]
    assert kitchen.state.next_plan is None


def test_the_plan_survives_a_restart() -> None:
    kitchen = planned()
    kitchen.say(WITHOUT_A_NUMBER)
    kitchen.say(CloseBatch())
    kitchen.restart(off=60)
    assert kitchen.say(Ask("plan"))[0][1]["die"] == "egg tagliatelle"


@pytest.mark.parametrize(("answer", "recipe"), [(True, "egg"), (False, None)])
def test_a_badly_heard_new_batch_leaves_no_recipe_behind_a_no(answer: bool, recipe: str | None) -> None:
    kitchen = planned()
    kitchen.say(WITHOUT_A_NUMBER)
    kitchen.say(CloseBatch())
    assert kitchen.say(WITHOUT_A_NUMBER, unsure=True) == [("ask_unsure_amount", {"grams": 1000})]
    kitchen.say(Answer(answer))
    assert kitchen.state.next_plan is None
    assert kitchen.state.next_marks is None
    assert (kitchen.state.batch.recipe if kitchen.state.batch else None) == recipe
    kitchen.check()


def test_a_planned_batch_that_does_not_fit_chooses_no_recipe() -> None:
    too_much = replace(PLANNED[1], flour_g=9000.0)
    kitchen = Kitchen(known=replace(REMEMBERS, plan=(too_much,)))
    assert kitchen.keys(WITHOUT_A_NUMBER) == ["flour_too_much"]
    assert kitchen.events == []
