"""What the batches before leave in the machine: allergens, told at an opening until a clean down."""

from dataclasses import replace
from datetime import UTC
from pathlib import Path

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record.events import RecipeChosen
from assistant.batch.record.hopper.leftovers import left_behind_by
from assistant.batch.record.rules import Known
from assistant.config.allergens.known import KnownAllergens
from assistant.dough.ingredients import Addition
from assistant.dough.recipe import RecipePlan, Share
from assistant.sheets import sheet_text
from assistant.sheets.allergens import KitchenAllergens
from assistant.sheets.label import label_of, label_text
from tests.batch.kitchen import PLANS, WALKS, Kitchen, typed
from tests.sheets.test_sheet import Day
from tests.sheets.words import english

INK = RecipePlan(
    "ink", 31.0, 30.0, 33.0, (Share("cuttlefish ink", 3.0, 87.90),), allergens=("wheat", "molluscs")
)
KNOWN = Known(recipes={**PLANS, "ink": INK}, walks=WALKS)


def after(recipe: str, *, told: bool = True) -> Kitchen:
    """A kitchen after a batch by this recipe."""
    k = Kitchen(known=KNOWN)
    make(k, recipe, told=told)
    return k


def make(k: Kitchen, recipe: str | None, *, told: bool = True) -> list[str]:
    """One whole batch; gives the allergen words at its opening."""
    if recipe is not None:
        k.say(cmd.UseRecipe(recipe))
    said = k.say(cmd.NewBatch(typed(1000)))
    if told:
        for one in k.batch.to_come:
            k.say(cmd.AddAddition(one.name))
    k.say(cmd.DropBatch())
    return [
        word
        for key, values in said
        if key == "allergen_before"
        for word in str(values["allergens"]).split(",")
    ]


def clean(k: Kitchen, *moves: cmd.Move) -> None:
    """The clean down, step by step."""
    k.say(cmd.Walk("clean down"))
    for move in moves or ("done", "done", "done"):
        k.say(cmd.WalkMove(move))


def test_after_egg_the_next_batch_hears_it_until_a_clean_down() -> None:
    k = after("egg")
    assert make(k, None) == ["egg"]
    assert make(k, None) == ["egg"], "it is still in the machine"
    clean(k)
    assert k.state.walk is None
    assert make(k, None) == []
    k.check()


def test_it_is_said_once_behind_what_the_batch_takes() -> None:
    k = after("egg")
    assert k.keys(cmd.NewBatch(typed(1000))) == ["batch_opened", "allergen_before", "first_pour"]
    assert "allergen_before" not in k.keys(cmd.Ask("where")) + k.keys(cmd.Ask("next"))


def test_with_an_allergen_to_say_the_first_addition_waits_to_be_asked_for() -> None:
    k = after("egg")
    k.say(cmd.UseRecipe("ink"))
    assert k.keys(cmd.NewBatch(typed(1000))) == ["batch_opened", "allergen_before", "first_pour"]
    assert k.keys(cmd.Ask("next")) == ["ask_addition"]


def test_a_clean_down_with_a_step_left_out_is_none() -> None:
    k = after("egg")
    clean(k, "done", "skip", "done")
    assert make(k, None) == ["egg"]
    k.say(cmd.Walk("clean down"))
    k.say(cmd.WalkMove("leave"))
    assert make(k, None) == ["egg"], "nor is one that was left"


def test_what_did_not_go_in_is_not_told() -> None:
    assert make(after("egg", told=False), None) == []


def test_the_same_allergen_again_is_not_told_and_others_are() -> None:
    k = after("egg")
    assert make(k, "egg") == []
    assert make(k, "ink") == ["egg"]
    assert make(k, None) == ["egg", "molluscs"]
    k.check()


def test_a_batch_that_is_opened_again_leaves_nothing_yet() -> None:
    k = after("egg")
    k.say(cmd.Undo())
    assert k.state.left_behind == ()
    k.say(cmd.Undo())  # the egg
    k.say(cmd.DropBatch())
    assert make(k, None) == []
    k.check()


def test_it_survives_a_power_cut() -> None:
    k = after("egg")
    k.restart(off=60)
    assert make(k, None) == ["egg"]


EGG = (Addition("whole egg", 200, 76.15),)


@pytest.mark.parametrize(
    ("plan", "went_in", "found"),
    [
        (None, (), ()),
        (PLANS["egg"], EGG, ("egg",)),
        (PLANS["egg"], (), ()),
        (replace(PLANS["egg"], allergens=("wheat", "barley", "egg", "fish")), EGG, ("egg", "fish")),
        # Without additions they are in the flour, and in with it.
        (replace(PLANS["egg"], shares=(), allergens=("wheat", "lupin")), (), ("lupin",)),
    ],
)
def test_allergens_of_a_dough(
    plan: RecipePlan | None, went_in: tuple[Addition, ...], found: tuple[str, ...]
) -> None:
    assert left_behind_by(plan, went_in) == found


RICE = RecipePlan("rice", 42.0, 37.5, 46.5, flours=(("rice flour", 100.0),), gluten_free=True)
RYE = RecipePlan("rye", 33.0, 31.0, 35.0, allergens=("rye",), flours=(("rye flour", 100.0),))
FREE = replace(KNOWN, recipes={**KNOWN.recipes, "rice": RICE, "rye": RYE})


def free() -> Kitchen:
    return Kitchen(known=FREE)


@pytest.mark.parametrize(
    ("before", "heard"),
    [
        # Semolina is wheat by both lists: Regulation (EU) 1169/2011, Annex II; 21 U.S.C. 321(qq).
        ([None], ["wheat"]),
        (["egg"], ["wheat", "egg"]),
        (["rye"], ["rye"]),
        (["rice"], []),
        ([None, "rice"], ["wheat"]),
        ([], []),
    ],
)
def test_rice_after_semolina_hears_what_is_left(before: list[str | None], heard: list[str]) -> None:
    """A flush is not enough for allergens: common practice, no source."""
    k = free()
    for recipe in before:
        make(k, recipe)
    assert make(k, "rice") == heard
    k.check()


def test_semolina_after_semolina_or_rice_hears_nothing_of_gluten() -> None:
    k = free()
    for recipe in (None, "rice", None, "rye"):
        assert make(k, recipe) == ([] if recipe != "rice" else ["wheat"])


def test_a_whole_clean_down_leaves_no_gluten() -> None:
    k = free()
    make(k, None)
    clean(k, "done", "skip", "done")
    assert make(k, "rice") == ["wheat"]
    clean(k)
    assert make(k, "rice") == []
    k.check()


def test_an_end_that_is_taken_back_left_nothing_yet() -> None:
    k = free()
    k.say(cmd.NewBatch(typed(1000)))
    k.say(cmd.DropBatch())
    k.say(cmd.Undo())
    assert k.state.gluten_left == ()
    k.say(cmd.DropBatch())
    assert make(k, "rice") == ["wheat"]
    k.check()


def test_what_was_carried_over_stays_with_the_batch_and_is_on_its_papers() -> None:
    day = Day()
    for recipe in (None, RICE):
        if recipe is not None:
            day.happen(RecipeChosen(at=day.clock.monotonic(), plan=recipe))
        for command in (cmd.NewBatch(typed(1000)), cmd.PourRest(), cmd.TrayDone(), cmd.DropBatch()):
            day.say(60.0, command)
    assert day.sheet(2).carried_over == ("wheat",)
    text = sheet_text(day.sheet(2), english(), UTC)
    assert "traces of: " in text
    assert "wheat: no clean down since, traces may be in" in text
    kitchen = KitchenAllergens()
    label = label_text(label_of(day.sheet(2), english(), kitchen.of(day.sheet(2)), zone=UTC))
    assert "may contain wheat: no clean down before it" in label
    assert "gluten-free" not in label.casefold()
    assert "may contain" not in label_text(
        label_of(day.sheet(1), english(), kitchen.of(day.sheet(1)), zone=UTC)
    )


def test_a_clean_down_without_its_steps_ends_what_waits_for_one() -> None:
    """A kitchen that cleans by its own way says so; before, it was reminded at every batch for good."""
    k = Kitchen(known=replace(FREE, walks={}))
    for command in (cmd.NewBatch(typed(1000)), cmd.PourRest(), cmd.Extruding(), cmd.CloseBatch()):
        k.say(command)
    assert k.keys(cmd.Walk("clean down")) == ["walk_unknown"]
    k.wait(5 * 3600)
    assert "clean_before" in k.keys(cmd.NewBatch(typed(1000)))
    k.say(cmd.CloseBatch())
    assert k.keys(cmd.CleanDownDone()) == ["clean_down_noted"]
    assert (k.state.unclean, k.state.gluten_left, k.state.left_behind) == (None, (), ())
    assert make(k, "rice") == []
    k.check()


def test_it_is_not_taken_while_its_steps_are_open() -> None:
    k = free()
    make(k, None)
    k.say(cmd.Walk("clean down"))
    assert "clean_down_noted" not in k.keys(cmd.CleanDownDone())
    assert k.state.gluten_left != ()
    k.say(cmd.WalkMove("leave"))
    k.say(cmd.Walk("die change"))
    assert k.keys(cmd.CleanDownDone()) == ["clean_down_noted"]
    assert k.state.gluten_left == ()
    k.check()


def test_a_lot_of_rice_flour_that_is_named_after_the_opening_hears_it_too() -> None:
    k = Kitchen(known=replace(FREE, gluten_free_lots=frozenset({"88"})))
    make(k, "egg")
    k.say(cmd.NewBatch(typed(1000)))
    assert (k.batch.gluten_free, k.batch.carried_over) == (False, ("egg",))
    said = k.say(cmd.SetLot("88"))
    assert ("allergen_before", {"allergens": "wheat,egg"}) in said
    assert (k.batch.gluten_free, k.batch.carried_over) == (True, ("wheat", "egg"))
    k.check()
    k.say(cmd.Undo())
    assert (k.batch.gluten_free, k.batch.carried_over) == (False, ("egg",))
    k.say(cmd.SetLot("88"))
    k.say(cmd.SetLot("12"))
    k.say(cmd.Answer(yes=True))
    assert (k.batch.gluten_free, k.batch.carried_over) == (False, ("egg",))
    k.say(cmd.CloseBatch())
    # Wheat went through the machine after all, and the next dough without gluten hears it.
    assert k.state.gluten_left[-1][1] == ("wheat",)


def test_a_recipe_says_it_whatever_the_lot() -> None:
    k = Kitchen(known=replace(FREE, gluten_free_lots=frozenset({"88"})))
    make(k, None)
    k.say(cmd.UseRecipe("rice"))
    k.say(cmd.NewBatch(typed(1000)))
    assert k.keys(cmd.SetLot("12"))[0] != "allergen_before"
    assert (k.batch.gluten_free, k.batch.carried_over) == (True, ("wheat",))


def test_a_lot_of_rice_flour_without_a_recipe_hears_it_too() -> None:
    k = Kitchen(known=replace(FREE, gluten_free_lots=frozenset({"88"})))
    make(k, None)
    k.say(cmd.SetLot("88"))
    assert make(k, None) == ["wheat"]
    k.say(cmd.SetLot("88"))
    k.say(cmd.NewBatch(typed(1000)))
    assert k.batch.gluten_free
    k.check()


def test_what_nobody_looked_up_is_named_itself_until_somebody_did(tmp_path: Path) -> None:
    # An own name whose allergens came later was on no label of the batch behind it.
    shares = (Share("our pesto", 3.0, 60.0),)
    pesto = RecipePlan("pesto", 31.0, 30.0, 33.0, shares, allergens=("wheat",), unmapped=("our pesto",))
    k = Kitchen(known=Known(recipes={**PLANS, "pesto": pesto}, walks=WALKS))
    make(k, "pesto")
    assert make(k, None) == ["our pesto"]
    assert make(k, "pesto") == [], "it is in this one itself"
    k.check()

    day = Day()
    for recipe in (pesto, RICE):
        day.happen(RecipeChosen(at=day.clock.monotonic(), plan=recipe))
        day.say(60.0, cmd.NewBatch(typed(1000)))
        if recipe is pesto:
            day.say(60.0, cmd.AddAddition("our pesto"))
        for command in (cmd.PourRest(), cmd.TrayDone(), cmd.DropBatch()):
            day.say(60.0, command)
    sheet = day.sheet(2)
    assert "traces of: " in sheet_text(sheet, english(), UTC)
    assert "our pesto" in sheet_text(sheet, english(), UTC)
    assert KitchenAllergens().of(sheet).unknown == ("our pesto",), "a label of it is refused"
    own = tmp_path / "allergens.toml"
    own.write_text('"our pesto" = ["milk", "nuts:pine nut"]\n', encoding="utf-8")
    found = KitchenAllergens(KnownAllergens.load(own)).of(sheet)
    assert (found.unknown, found.carried) == ((), ("wheat", "milk", "nuts"))
    assert "may contain wheat, milk, nuts" in label_text(label_of(sheet, english(), found, zone=UTC))
