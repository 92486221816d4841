"""The press: temperatures of the strand that are called, and trays that come slowly.

50 C as the limit and 35 to 45 C for the firmest pasta: Debbouz and Doetkott 1996, Cereal Chem. 73:672 (read
at second hand) and AACC 66-41.01 (secondary). Slow trays as a sign of dry crumb or a clogging die: common
practice, no source.
"""

from dataclasses import replace

import pytest

from assistant.batch.record import commands as cmd
from assistant.dough.calculators.die_heat import LearnedEnergy, rise_c
from assistant.dough.recipe import RecipePlan
from tests.batch.kitchen import HOT_DIE, REMEMBERS, WALKS, Kitchen, at_target, typed
from tests.nlg.brief_turns import check_brief

RICE = RecipePlan("rice", 42.0, 37.5, 46.5, flours=(("rice flour", 100.0),), gluten_free=True)


def at_the_press(*, known: bool = False) -> Kitchen:
    kitchen = at_target(1500)
    if known:
        kitchen.known = replace(REMEMBERS, dies=lambda die: HOT_DIE if die == "rigatoni" else None)
    kitchen.say(cmd.NewDie("rigatoni"))
    kitchen.say(cmd.JudgeCrumb("ready"))
    kitchen.say(cmd.Extruding())
    return kitchen


def exit_at(kitchen: Kitchen, celsius: float) -> list[str]:
    said = kitchen.keys(cmd.TellCondition("exit", celsius))
    check_brief(kitchen.heard[-len(said) :])
    return said


def exits(kitchen: Kitchen) -> list[float]:
    return [one.celsius for one in kitchen.state.exits]


def waiting(kitchen: Kitchen) -> int:
    return sum(timer.kind == "tray" for timer in kitchen.state.timers)


@pytest.mark.parametrize(
    ("celsius", "key"),
    [
        (44.0, "condition_told"),
        (44.9, "condition_told"),
        (45.0, "exit_warm"),
        (49.9, "exit_warm"),
        (50.0, "exit_hot"),
        (62.0, "exit_hot"),
    ],
)
def test_a_strand_near_fifty_degrees_is_called(celsius: float, key: str) -> None:
    kitchen = at_the_press()
    assert exit_at(kitchen, celsius) == [key]
    assert [one.celsius for one in kitchen.batch.at_die.exits] == [celsius]
    kitchen.check()


@pytest.mark.parametrize(
    ("readings", "key"),
    [
        # 1 C in five minutes: 50 C is half an hour off at 44 C, and called from there on.
        ([42.0, 43.0, 44.0], "exit_climbs"),
        ([41.0, 42.0, 43.0], "condition_told"),
        # Two readings, or a spread within what a probe is read to, are no climb.
        ([42.0, 44.0], "condition_told"),
        ([43.0, 44.0, 44.0], "condition_told"),
        ([44.0, 43.0, 42.0], "condition_told"),
        # One that was read wrongly does not make a climb of a steady press.
        ([44.0, 39.0, 44.0, 44.0, 44.0], "condition_told"),
    ],
)
def test_a_climb_is_called_before_fifty_degrees(readings: list[float], key: str) -> None:
    kitchen = at_the_press()
    said = list[str]()
    for celsius in readings:
        kitchen.wait(300)
        said = exit_at(kitchen, celsius)
    assert said == [key]


def test_a_climb_goes_on_over_the_batches_of_a_shift_and_not_over_the_night() -> None:
    kitchen = at_the_press()
    for celsius in (41.0, 42.5):
        kitchen.wait(300)
        exit_at(kitchen, celsius)
    kitchen.say(cmd.CloseBatch())
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.say(cmd.PourRest())
    kitchen.wait(600)
    assert exit_at(kitchen, 44.5) == ["exit_climbs"]
    kitchen.say(cmd.Undo())
    kitchen.wait(8 * 3600)
    assert exit_at(kitchen, 44.5) == ["condition_told"]
    kitchen.check()


def test_another_die_begins_anew() -> None:
    kitchen = at_the_press()
    for celsius in (41.0, 42.5):
        kitchen.wait(300)
        exit_at(kitchen, celsius)
    kitchen.say(cmd.NewDie("penne"))
    kitchen.wait(300)
    assert exit_at(kitchen, 44.5) == ["condition_told"]


def test_what_was_taken_back_is_no_reading_and_a_reopened_batch_counts_once() -> None:
    kitchen = at_the_press()
    exit_at(kitchen, 44.0)
    kitchen.say(cmd.Undo())
    assert exits(kitchen) == []
    exit_at(kitchen, 43.0)
    kitchen.say(cmd.CloseBatch())
    assert exits(kitchen) == [43.0]
    kitchen.say(cmd.Undo())
    assert exits(kitchen) == [43.0]
    kitchen.check()


def test_after_a_power_cut_of_unknown_length_no_climb_is_reckoned() -> None:
    kitchen = at_the_press()
    for celsius in (42.0, 43.0):
        kitchen.wait(300)
        exit_at(kitchen, celsius)
    kitchen.restart(off=900, certain=False)
    kitchen.wait(300)
    assert exit_at(kitchen, 44.0) == ["condition_told"]
    kitchen.check()


@pytest.mark.parametrize("celsius", [5.0, 95.0])
def test_a_temperature_of_no_press_is_refused(celsius: float) -> None:
    kitchen = at_the_press()
    assert kitchen.keys(cmd.TellCondition("exit", celsius)) == ["condition_impossible"]


def test_a_dough_without_gluten_has_none_to_damage() -> None:
    # Rice is pressed at 50 to 55 C: University of Milan pilot plant (excerpt read).
    kitchen = Kitchen(known=replace(REMEMBERS, recipes={"rice": RICE}))
    kitchen.say(cmd.UseRecipe("rice"))
    kitchen.say(cmd.NewBatch(typed(1500)))
    assert exit_at(kitchen, 54.0) == ["condition_told"]


@pytest.mark.parametrize(
    ("dough_c", "readings", "keys"),
    [
        (32.0, 5, ["condition_told", "exit_expected"]),
        (24.0, 5, ["condition_told"]),
        # Two readings are not a die's own heat yet.
        (32.0, 2, ["condition_told"]),
    ],
)
def test_a_warm_dough_is_called_before_it_is_pressed(dough_c: float, readings: int, keys: list[str]) -> None:
    kitchen = at_the_press(known=True)
    die = replace(HOT_DIE, energy=LearnedEnergy(40.0, 2.0, readings))
    kitchen.known = replace(kitchen.known, dies=lambda _: die)
    said = kitchen.say(cmd.TellCondition("dough", dough_c))
    assert [key for key, _ in said] == keys
    if len(keys) > 1:
        assert said[1][1]["value"] == round(dough_c + rise_c(kitchen.batch.hydration_pct, dough_c, 40.0))


def trays(kitchen: Kitchen, *seconds: float) -> list[str]:
    """Trays with this time before each; what was said at the last."""
    said = list[str]()
    for one in seconds:
        kitchen.wait(one)
        before = len(kitchen.heard)
        said = kitchen.keys(cmd.TrayDone())
        check_brief(kitchen.heard[before:])
    return said


def test_trays_that_take_a_third_longer_than_this_dies_are_called_once() -> None:
    kitchen = at_the_press(known=True)  # five minutes a tray
    assert trays(kitchen, 500, 300, 420) == ["tray_filled"]
    kitchen.wait(420)
    assert kitchen.say(cmd.TrayDone())[1:] == [("trays_slow", {"pct": 40.0})]
    assert trays(kitchen, 420) == ["tray_filled"]
    kitchen.check()


def test_a_tray_within_what_trays_differ_by_is_not_called() -> None:
    kitchen = at_the_press(known=True)
    assert trays(kitchen, 300, 380, 380, 380) == ["tray_filled"]
    assert trays(kitchen, 300, 500, 300, 500) == ["tray_filled"]


def test_of_an_unknown_die_the_first_trays_of_the_batch_stand_for_it() -> None:
    kitchen = at_the_press()
    assert trays(kitchen, 400, 240, 260, 250, 380) == ["tray_filled"]
    assert trays(kitchen, 380) == ["tray_filled", "trays_slow"]


@pytest.mark.parametrize(
    "stop",
    [
        [cmd.Mix(60), cmd.Extruding()],
        [cmd.NewDie("rigatoni"), cmd.Extruding()],
        [cmd.JudgeCrumb("ready")],
        [cmd.AddWater(typed(5)), cmd.Extruding()],
        [cmd.Walk("die change")],
    ],
    ids=["mixed again", "another die", "squeezed", "water", "a walk-through"],
)
def test_the_time_of_a_stop_is_no_trays(stop: list[cmd.Command]) -> None:
    kitchen = at_the_press(known=True)
    trays(kitchen, 300, 300)
    for _ in range(3):
        for command in stop:
            kitchen.say(command)
        if kitchen.state.walk is not None:
            kitchen.say(cmd.WalkMove("leave"))
        assert "trays_slow" not in trays(kitchen, 420)
    assert kitchen.batch.at_die.gaps_s == (300.0,)
    kitchen.check()


def test_a_pause_of_the_cooks_and_trays_told_together_are_no_slow_trays() -> None:
    kitchen = at_the_press(known=True)
    assert trays(kitchen, 300, 1200, 1200) == ["tray_filled"]
    assert trays(kitchen, 5, 5, 300) == ["tray_filled"]


def test_trays_of_a_cleaned_die_are_looked_at_anew() -> None:
    kitchen = at_the_press(known=True)
    assert trays(kitchen, 300, 420, 420) == ["tray_filled", "trays_slow"]
    kitchen.wait(60)
    assert kitchen.say(cmd.DieClean())[0] == ("die_cleaned", {})
    assert not kitchen.batch.die_warm
    # The first has no time, the second alone says nothing; then it is called a second time: not the die.
    assert trays(kitchen, 900, 420) == ["tray_filled"]
    assert trays(kitchen, 420) == ["tray_filled", "trays_slow"]
    assert kitchen.batch.at_die.gaps_s == (420.0,) * 4, "what is learned of the die keeps them all"
    kitchen.check()


def test_of_an_unknown_die_its_first_trays_stand_for_it_anew_once_it_is_clean() -> None:
    kitchen = at_the_press()
    assert trays(kitchen, 400, 240, 260, 250, 380, 380) == ["tray_filled", "trays_slow"]
    kitchen.say(cmd.DieClean())
    assert trays(kitchen, 60, 380, 380, 380, 380, 380) == ["tray_filled"]


def test_a_clean_die_ends_nothing_of_the_clean_down() -> None:
    kitchen = at_the_press()
    kitchen.wait(3600)
    due = kitchen.state.unclean
    assert [key for key, _ in kitchen.say(cmd.DieClean())] == ["die_cleaned", "clean_soon"]
    assert kitchen.state.unclean == due
    kitchen.say(cmd.Undo())
    kitchen.say(cmd.CloseBatch())
    assert [key for key, _ in kitchen.say(cmd.DieClean())] == ["die_cleaned", "clean_soon"]
    assert Kitchen().say(cmd.DieClean()) == [("die_cleaned", {})], "nothing waits for a clean down"
    kitchen.check()


def test_a_slow_tray_that_is_taken_back_does_not_count() -> None:
    kitchen = at_the_press(known=True)
    trays(kitchen, 300, 420)
    kitchen.say(cmd.Undo())
    assert kitchen.batch.at_die.gaps_s == ()
    assert trays(kitchen, 10, 300) == ["tray_filled"]
    kitchen.check()


def test_all_trays_are_cold_in_one_breath() -> None:
    kitchen = at_the_press()
    trays(kitchen, 60, 60, 60)
    kitchen.wait(1800)
    assert kitchen.say(cmd.TraysCold()) == [("trays_cold", {"count": 3})]
    assert waiting(kitchen) == 0
    assert kitchen.say(cmd.TraysCold()) == [("tray_unknown", {})]
    kitchen.say(cmd.Undo())
    assert waiting(kitchen) == 3
    kitchen.check()


def test_of_all_trays_those_that_were_late_are_named() -> None:
    # US Food Code 3-501.14(B): four hours from the first water.
    kitchen = at_the_press()
    trays(kitchen, 60, 60)
    kitchen.wait(4 * 3600)
    before = len(kitchen.heard)
    assert kitchen.say(cmd.TraysCold()) == [
        ("trays_cold_late", {"count": 2, "limit": 4 * 3600.0, "celsius": 5.0})
    ]
    check_brief(kitchen.heard[before:])
    assert waiting(kitchen) == 0


def test_one_tray_alone_is_said_as_one() -> None:
    kitchen = at_the_press()
    trays(kitchen, 60)
    assert kitchen.keys(cmd.TraysCold()) == ["tray_cold"]


def test_the_die_stays_in_over_the_batches_until_the_machine_is_taken_apart() -> None:
    kitchen = at_the_press()
    for _ in range(2):
        kitchen.say(cmd.CloseBatch())
        kitchen.say(cmd.NewBatch(typed(1500)))
        assert kitchen.batch.die == "rigatoni"
        kitchen.say(cmd.PourRest())
    kitchen.say(cmd.NewDie("penne"))
    kitchen.say(cmd.CloseBatch())
    kitchen.say(cmd.NewBatch(typed(1500)))
    assert kitchen.batch.die == "penne"
    kitchen.check()


@pytest.mark.parametrize("walk", ["clean down", "die change"])
def test_after_the_die_was_out_it_is_not_known_which_is_in(walk: str) -> None:
    kitchen = at_the_press()
    kitchen.known = replace(kitchen.known, walks=WALKS)
    kitchen.say(cmd.CloseBatch())
    kitchen.say(cmd.Walk(walk))
    while kitchen.state.walk is not None:
        kitchen.say(cmd.WalkMove("done"))
    kitchen.say(cmd.NewBatch(typed(1500)))
    assert kitchen.batch.die is None
    kitchen.check()
