"""Same again: the batch before once more."""

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from tests.batch.kitchen import REMEMBERS, Kitchen, typed

AGAIN = cmd.SameAgain()


def made(*before: cmd.Command, end: cmd.Command | None = None) -> Kitchen:
    """A kitchen that has ended a batch of 1,500 g of flour at the target."""
    kitchen = Kitchen(known=REMEMBERS)
    for command in (*before, cmd.NewBatch(typed(1500))):
        kitchen.say(command)
    for one in kitchen.batch.to_come:
        kitchen.say(cmd.AddAddition(one.name))
    for command in (cmd.PourRest(), end or cmd.CloseBatch()):
        kitchen.say(command)
    return kitchen


def test_flour_marks_recipe_and_lot_are_those_of_the_batch_before() -> None:
    kitchen = made(cmd.UseRecipe("wholegrain"), cmd.SetLot("99"), cmd.SetTarget(34.0))
    assert kitchen.keys(AGAIN)[0] == "batch_again"
    batch = kitchen.batch
    assert (batch.number, batch.flour_g, batch.lot, batch.recipe) == (2, 1500, "99", "wholegrain")
    assert (batch.target_pct, batch.low_pct, batch.high_pct) == (34.0, 31.5, 35.0)
    assert batch.poured_g == 0
    kitchen.check()


def test_what_is_said_of_it() -> None:
    kitchen = made()
    assert kitchen.say(AGAIN)[0] == (
        "batch_opened",
        {"batch": 2, "flour": 1500, "water": 465, "target": 31},
    )
    kitchen = made(cmd.SetLot("99"))
    assert kitchen.say(AGAIN)[0] == (
        "batch_again",
        {"batch": 2, "flour": 1500, "water": 465, "target": 31, "lot": "99"},
    )


def test_the_lots_own_first_pour_comes_with_it() -> None:
    kitchen = made(cmd.SetLot("12"))
    kitchen.say(AGAIN)
    assert kitchen.batch.first_pour_g == 460


def test_flour_that_was_corrected_counts_and_flour_that_mended_does_not() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.say(cmd.MakeThat(typed(1600)))
    kitchen.say(cmd.AddFlour(typed(100)))
    kitchen.say(cmd.CloseBatch())
    kitchen.say(AGAIN)
    assert kitchen.batch.flour_g == 1600


def test_what_was_named_for_the_next_batch_goes_before() -> None:
    kitchen = made(cmd.UseRecipe("egg"), cmd.SetLot("12"))
    kitchen.say(cmd.SetLot("99"))
    kitchen.say(cmd.SetTarget(32.0))
    assert kitchen.keys(AGAIN)[0] == "batch_opened"
    batch = kitchen.batch
    assert (batch.lot, batch.target_pct, batch.recipe) == ("99", 32.0, "egg")


def test_a_batch_that_was_dropped_can_be_made_again() -> None:
    kitchen = made(end=cmd.DropBatch())
    kitchen.say(AGAIN)
    assert kitchen.batch.flour_g == 1500


def test_without_a_batch_before_it_says_so() -> None:
    kitchen = Kitchen()
    assert kitchen.say(AGAIN) == [("no_batch_before", {})]
    kitchen.say(cmd.NewBatch(typed(1500)))
    assert kitchen.say(AGAIN) == [("batch_already_open", {"batch": 1})]
    kitchen.say(cmd.Undo())
    assert kitchen.say(AGAIN) == [("no_batch_before", {})]


def test_it_is_taken_back_as_any_opening_is() -> None:
    kitchen = made(cmd.SetLot("99"))
    before = kitchen.state
    kitchen.say(AGAIN)
    assert kitchen.say(cmd.Undo()) == [("undone_opening", {})]
    assert (kitchen.state.batch, kitchen.state.made_of) == (None, before.made_of)
    kitchen.say(cmd.Undo())
    kitchen.say(cmd.Undo())
    kitchen.say(cmd.Undo())
    assert kitchen.state.made_of is None, "the batch was taken back whole"
    kitchen.check()


@pytest.mark.parametrize("certain", [True, False])
def test_it_survives_a_power_cut(certain: bool) -> None:
    kitchen = made(cmd.SetLot("99"))
    kitchen.restart(certain=certain)
    kitchen.say(AGAIN)
    assert kitchen.batch.lot == "99"


def test_a_lot_that_climbs_is_called_with_it() -> None:
    kitchen = made(cmd.SetLot("6"))
    assert kitchen.say(AGAIN)[-1] == ("lot_climbs", {"lot": "6", "hydration": 31.2, "batches": 5})


def test_badly_heard_it_is_asked_about() -> None:
    kitchen = made()
    assert kitchen.keys(AGAIN, unsure=True) == ["ask_unsure"]
    kitchen.say(cmd.Answer(yes=True))
    assert isinstance(kitchen.events[-1], ev.BatchOpened)


def test_too_much_for_the_hopper_is_said_as_ever() -> None:
    kitchen = made()
    kitchen.rules = type(kitchen.rules)(hopper_g=1000)
    assert kitchen.say(AGAIN) == [("flour_too_much", {"grams": 1500, "most": 760})]
