"""The flour's lot and the recipe: first pour, what is said of a lot, wet ingredients, closing."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.decide.decide import Said
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.clocks.food_rules import FOOD_CODE
from assistant.batch.record.rules import BatchRules
from assistant.dough.flour.staging import first_water_g
from tests.batch.kitchen import LOTS, PLANS, REMEMBERS, Kitchen, forecast, typed

RULES = BatchRules()


def kitchen() -> Kitchen:
    return Kitchen(known=REMEMBERS)


def test_a_lot_is_answered_with_its_likely_end_the_batches_and_the_first_pour() -> None:
    k = kitchen()
    assert k.say(cmd.SetLot("12")) == [
        ("lot_likely", {"lot": "12", "hydration": 31.8, "batches": 9}),
        ("lot_first_pour_pct", {"hydration": pytest.approx(30.98, abs=0.01)}),
    ]
    assert k.say(cmd.NewBatch(typed(1500))) == [
        ("batch_opened", {"batch": 1, "flour": 1500, "water": 465, "target": 31}),
        ("first_pour", {"grams": 460}),
    ]
    k.check()


def test_a_lot_that_is_named_after_the_flour_moves_the_first_look() -> None:
    k = kitchen()
    k.say(cmd.NewBatch(typed(1500)))
    assert k.batch.first_pour_g == 330
    assert k.say(cmd.SetLot("12"))[-1] == ("lot_first_pour", {"grams": 460})
    assert k.batch.first_pour_g == 460
    assert [key for key, _ in k.say(cmd.AddWater(typed(455)))] == ["water_in", "left"]
    assert [key for key, _ in k.say(cmd.AddWater(typed(5)))] == ["water_in", "left", "mix_then_squeeze"]
    k.check()
    k.say(cmd.Undo())
    k.say(cmd.Undo())
    k.say(cmd.Undo())
    assert k.batch.first_pour_g == 330
    assert k.batch.lot is None


def test_after_the_first_look_a_lot_moves_nothing() -> None:
    k = kitchen()
    k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.AddWater(typed(335)))
    assert [key for key, _ in k.say(cmd.SetLot("12"))] == ["lot_likely"]
    assert k.batch.first_pour_g == 330
    k.check()


def test_of_a_lot_without_batches_nothing_is_claimed() -> None:
    k = kitchen()
    assert k.say(cmd.SetLot("99")) == [("lot_named", {"lot": "99"}), ("lot_unknown", {})]
    k.say(cmd.NewBatch(typed(1500)))
    assert k.batch.first_pour_g == 330, "the house rule stands"


def test_a_telephone_number_beside_the_machine_is_asked_about_before_it_is_a_lot() -> None:
    k = kitchen()
    assert k.keys(cmd.SetLot("679778449")) == ["ask_unsure"]
    assert k.state.next_lot is None
    assert k.keys(cmd.SetLot("471")) == ["lot_named"], "the question is left for the next command"
    typed_in = Said(cmd.SetLot("679778449"), source="keyboard")
    assert [key for key, _ in k.ask(typed_in)] == ["lot_named"]


def test_one_batch_and_a_lot_that_has_moved_are_told() -> None:
    one, more, less = (kitchen().say(cmd.SetLot(lot))[0] for lot in ("1", "7", "8"))
    assert one == ("lot_likely", {"lot": "1", "hydration": 31.5, "batches": 1})
    assert more == ("lot_takes_more", {"lot": "7", "points": 1.0}), "nobody knows it closer than half a point"
    assert less == ("lot_takes_less", {"lot": "8", "points": 1.5})


@given(
    st.floats(100, 5000),
    st.floats(20, 50),
    st.integers(0, 30),
    st.floats(20, 40),
    st.floats(0.2, 3),
)
def test_the_first_pour_never_passes_what_the_lot_calls_safe(
    flour: float, target: float, batches: int, likely: float, spread: float
) -> None:
    found = forecast("x", batches, likely, spread)
    first = first_water_g(flour, target, RULES.first_pour_share, found)
    assert 0 <= first <= max(0.0, flour * found.safe_pct / 100) + 1e-6
    assert first <= flour * target / 100 + 1e-6
    assert first % 5 == 0
    if batches == 0:
        assert first <= flour * target / 100 * RULES.first_pour_share + 1e-6


def test_other_lots_can_hold_the_first_pour_below_the_house_rule() -> None:
    k = kitchen()
    k.say(cmd.SetLot("5"))
    k.say(cmd.NewBatch(typed(1500)))
    assert k.batch.first_pour_g == pytest.approx(15 * LOTS["5"].safe_pct, abs=5)
    assert k.batch.first_pour_g < 330


def test_a_batch_far_from_its_lot_is_asked_about_and_closed_by_a_yes() -> None:
    k = kitchen()
    k.say(cmd.SetLot("12"))
    k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.AddWater(typed(420)))
    k.say(cmd.JudgeCrumb("ready"))
    assert k.say(cmd.CloseBatch()) == [("ask_far_from_lot", {"hydration": 28, "lot": "12", "likely": 31.8})]
    assert k.state.question is not None
    assert k.state.question.reason == "far_from_lot"
    assert k.keys(cmd.Answer(yes=False)) == ["not_logged"]
    assert k.state.batch is not None, "the cook can mend the account first"
    k.say(cmd.CloseBatch())
    assert k.keys(cmd.Answer(yes=True)) == ["batch_closed"]
    k.check()


def test_running_time_is_asked_about_first_and_the_lot_after_it() -> None:
    k = kitchen()
    k.say(cmd.SetLot("12"))
    k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.AddWater(typed(420)))
    k.say(cmd.JudgeCrumb("ready"))
    k.say(cmd.Rest(90))
    assert k.keys(cmd.CloseBatch()) == ["ask_time_running"]
    assert k.keys(cmd.Answer(yes=True)) == ["ask_far_from_lot"]
    assert k.keys(cmd.Answer(yes=True)) == ["batch_closed"]
    k.check()


@pytest.mark.parametrize("end", [cmd.DropBatch(), cmd.CloseBatch()])
def test_a_batch_near_its_lot_or_dropped_is_not_asked_about(end: cmd.Command) -> None:
    k = kitchen()
    k.say(cmd.SetLot("12"))
    k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.AddWater(typed(470 if isinstance(end, cmd.CloseBatch) else 420)))
    k.say(cmd.JudgeCrumb("ready"))
    assert k.keys(end)[0] in ("batch_closed", "batch_dropped")


def test_a_recipe_sets_marks_times_and_additions() -> None:
    """Source of the egg's water: USDA SR28 NDB 01123, 76.15 %."""
    k = kitchen()
    assert k.say(cmd.UseRecipe("egg")) == [("recipe_chosen", {"recipe": "egg", "target": 31})]
    assert k.say(cmd.NewBatch(typed(1500))) == [
        ("batch_opened", {"batch": 1, "flour": 1500, "water": pytest.approx(236.55), "target": 31}),
        ("ask_addition", {"grams": 300, "ingredient": "whole egg"}),
    ]
    assert k.batch.water_g == 0
    assert k.say(cmd.Answer(yes=True)) == [
        ("addition_in", {"grams": 300, "ingredient": "whole egg"}),
        ("first_pour", {"grams": pytest.approx(100)}),
    ]
    assert k.batch.water_g == pytest.approx(228.45)
    assert k.batch.poured_g == 0
    assert k.batch.product_g == 1800
    assert k.say(cmd.Rest()) == [("resting_for", {"seconds": 120})]
    k.say(cmd.PourRest())
    assert k.batch.hydration_pct == pytest.approx(31)
    assert k.batch.poured_g == pytest.approx(236.55)
    k.say(cmd.CloseBatch())
    k.say(cmd.Answer(yes=True))
    k.say(cmd.NewBatch(typed(1000)))
    assert k.batch.plan is None, "a recipe is for one batch"
    k.check()


def test_a_corrected_flour_corrects_the_additions() -> None:
    k = kitchen()
    k.say(cmd.UseRecipe("egg"))
    k.say(cmd.NewBatch(typed(1500)))
    assert k.keys(cmd.MakeThat(typed(1000)))[0] == "corrected", (
        "a kilo is nearer to the flour than to the egg"
    )
    assert [one.grams for one in k.batch.to_come] == [200]
    assert k.batch.to_pour_g(31) == pytest.approx(157.70)
    k.say(cmd.AddFlour(typed(100)))
    assert [one.grams for one in k.batch.to_come] == [200], "flour that comes later brings no egg"
    k.check()


def test_dry_additions_fill_the_hopper_too() -> None:
    k = kitchen()
    k.say(cmd.UseRecipe("wholegrain"))
    said = dict(k.say(cmd.NewBatch(typed(2250))))
    assert said == {"batch_opened_over": {"batch": 1, "flour": 2250, "most": 2235}}
    assert k.keys(cmd.AddAddition("salt"))[0] == "addition_in"
    assert k.batch.product_g == pytest.approx(2272.5)
    assert (k.batch.low_pct, k.batch.high_pct) == (31.5, 35)
    assert k.say(cmd.Mix()) == [("mixing_for", {"seconds": 150})]


def test_dry_additions_count_to_the_gram_in_what_the_hopper_holds() -> None:
    # Per 100 of flour 33 of water and 1 of salt: 2995 / 1.34 = 2235.07 g of flour, down to 2235.
    k = Kitchen(BatchRules(hopper_g=2995), REMEMBERS)
    k.say(cmd.UseRecipe("wholegrain"))
    assert dict(k.say(cmd.NewBatch(typed(2250))))["batch_opened_over"]["most"] == 2235


def test_a_recipe_can_be_taken_back_and_an_unknown_one_is_told() -> None:
    k = kitchen()
    k.say(cmd.SetTarget(32))
    k.say(cmd.UseRecipe("egg"))
    assert k.say(cmd.Undo()) == [("undone_other", {"what": "recipe"})]
    assert k.state.next_plan is None
    assert k.state.next_marks == (32, 30, 33)
    assert k.say(cmd.UseRecipe("rye")) == [("recipe_unknown", {"recipe": "rye"})]
    assert k.keys(cmd.UseRecipe("egg"), unsure=True) == ["ask_unsure"]
    assert k.keys(cmd.Answer(yes=True)) == ["recipe_chosen"]
    k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.Undo())
    assert k.state.next_plan == PLANS["egg"], "the recipe waits for the next opening"
    k.check()


def test_verdicts_are_kept_with_their_hydration_and_taken_back() -> None:
    k = kitchen()
    k.say(cmd.NewBatch(typed(1000)))
    k.say(cmd.AddWater(typed(300)))
    k.say(cmd.JudgeCrumb("dry"))
    k.say(cmd.AddWater(typed(10)))
    k.say(cmd.JudgeCrumb("wet"))
    assert list(k.batch.squeezes) == [("dry", 30.0), ("wet", 31.0)]
    k.say(cmd.Undo())
    assert list(k.batch.squeezes) == [("dry", 30.0)]
    k.check()


def test_a_batch_without_a_recipe_is_written_as_before() -> None:
    k = Kitchen()
    k.say(cmd.NewBatch(typed(1500)))
    assert k.events == [
        ev.BatchOpened(
            at=0,
            batch=1,
            flour_g=1500,
            target_pct=31,
            low_pct=30,
            high_pct=33,
            hopper_g=3000,
            first_pour_g=330,
            lot=None,
            source="voice",
            plan=None,
            food=FOOD_CODE,
        )
    ]


def test_conditions_are_kept_with_the_batch_and_taken_back() -> None:
    k = kitchen()
    assert k.keys(cmd.TellCondition("dough", 28)) == ["no_batch"]
    k.say(cmd.NewBatch(typed(1000)))
    assert k.say(cmd.TellCondition("dough", 26)) == [("condition_told", {"what": "dough", "value": 26})]
    k.say(cmd.TellCondition("humidity", 60))
    k.say(cmd.TellCondition("dough", 28))
    assert list(k.batch.conditions) == [("humidity", 60), ("dough", 28)]
    assert k.say(cmd.Undo()) == [("undone_other", {"what": "condition"})]
    assert list(k.batch.conditions) == [("dough", 26), ("humidity", 60)]
    assert k.say(cmd.TellCondition("humidity", 101)) == [
        ("condition_impossible", {"value": 101, "least": 0, "most": 100})
    ]
    assert k.keys(cmd.TellCondition("kitchen", 22), unsure=True) == ["ask_unsure"]
    assert k.keys(cmd.Answer(yes=True)) == ["condition_told"]
    k.check()


@pytest.mark.parametrize("opened", [True, False])
def test_a_target_inside_the_recipes_marks_leaves_them(opened: bool) -> None:
    k = Kitchen(known=REMEMBERS)
    k.say(cmd.UseRecipe("wholegrain"))  # 31.5, 33, 35
    if opened:
        k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.SetTarget(32.5))
    if not opened:
        k.say(cmd.NewBatch(typed(1500)))
    assert (k.batch.low_pct, k.batch.target_pct, k.batch.high_pct) == (31.5, 32.5, 35.0)
    assert k.keys(cmd.SetTarget(31.0)) == ["ask_target"]
    k.say(cmd.Answer(yes=True))
    assert (k.batch.low_pct, k.batch.high_pct) == (31.0, 35.0)
    k.check()


# --- granulation


def test_a_coarse_flour_is_told_with_the_rest_that_it_wants() -> None:
    """That coarse semolina rests longer is common practice, no source; by how much is in `granulation`."""
    k = Kitchen(known=replace(REMEMBERS, granulation={"12": 500.0, "7": 200.0, "99": 500.0}))
    assert k.say(cmd.SetLot("12"))[-1] == ("lot_coarse", {"seconds": 180.0})
    assert "lot_coarse" not in k.keys(cmd.SetLot("7"))
    assert k.keys(cmd.SetLot("99")) == ["lot_named", "lot_coarse"]
    k.say(cmd.NewBatch(typed(1500)))
    assert k.say(cmd.Rest()) == [("resting_for", {"seconds": 180.0})]
    assert k.say(cmd.Rest(60))[-1] == ("resting_for", {"seconds": 60.0})
    k.check()


def test_a_lot_that_is_named_in_an_open_batch_brings_its_grain() -> None:
    k = Kitchen(known=replace(REMEMBERS, granulation={"12": 500.0}))
    k.say(cmd.NewBatch(typed(1500)))
    assert k.say(cmd.Rest())[-1] == ("resting_for", {"seconds": 90.0})
    k.say(cmd.SetLot("12"))
    assert k.batch.granulation == 500.0
    assert k.say(cmd.Rest())[-1] == ("resting_for", {"seconds": 180.0})
    k.say(cmd.Undo())
    k.say(cmd.Undo())
    assert k.batch.granulation is None
    k.check()
