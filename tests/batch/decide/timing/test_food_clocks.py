"""The clocks of food safety: a dough's time to cold holding, and the machine's to clean down.

Sources: US Food Code 3-501.14(B), 5 C within four hours (read), counted from the first wet contact; 4-602.11,
cleaned every four hours, in cold rooms 10, 16, 20, 24 (hours read in WAC 246-215-04605, edges from memory);
DPR 187/2001 art. 9 c. 4, 4 C for loose fresh pasta (read).
"""

from dataclasses import replace

import pytest

from assistant.batch.decide.decide import next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.clocks.food_rules import CLEAN_WITHIN_S, FoodRules
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from tests.batch.kitchen import REMEMBERS, Kitchen, Spoken, typed

MINUTE, HOUR = 60.0, 3600.0
CLEAN: list[cmd.Command] = [cmd.Walk("clean down"), *[cmd.WalkMove("done")] * 3]


def kitchen(food: FoodRules | None = None) -> Kitchen:
    rules = BatchRules() if food is None else BatchRules(food=food)
    return Kitchen(rules, REMEMBERS)


def wet(k: Kitchen) -> Kitchen:
    """A batch whose first water goes in a minute after its flour."""
    k.say(cmd.NewBatch(typed(1500)))
    k.wait(MINUTE)
    k.say(cmd.AddWater(typed(465)))
    return k


def keys(said: list[Spoken]) -> list[str]:
    return [key for key, _ in said]


# --- a dough's time


def test_a_tray_has_what_is_left_of_the_four_hours_since_the_first_water() -> None:
    k = wet(kitchen())
    k.now = 206 * MINUTE
    # Due at minute 241; 35 minutes are left.
    assert k.say(cmd.TrayDone()) == [("tray_care", {"tray": 1, "celsius": 5.0, "seconds": 35 * MINUTE})]
    assert k.wait(5 * MINUTE)[0] == (
        "tray_warning",
        {"tray": 1, "batch": 1, "seconds": 30 * MINUTE, "celsius": 5.0},
    )
    assert "tray_rings" in keys(k.wait(30 * MINUTE))
    k.check()


def test_cold_at_seven_hours_and_a_quarter_is_no_longer_called_three_hours_fifty() -> None:
    k = wet(kitchen())
    k.now = 206 * MINUTE
    k.say(cmd.TrayDone())
    k.now += 229 * MINUTE
    assert keys(k.say(cmd.TrayCold())) == ["tray_cold_late"]
    (cold,) = (one for one in k.events if isinstance(one, sh.TrayChilled))
    assert cold.seconds == pytest.approx(434 * MINUTE)
    assert cold.limit_s == 4 * HOUR


@pytest.mark.parametrize(("seconds", "key"), [(4 * HOUR - MINUTE, "tray_cold"), (4 * HOUR, "tray_cold_late")])
def test_at_four_hours_from_the_first_water_it_is_too_late(seconds: float, key: str) -> None:
    k = wet(kitchen())
    k.wait(HOUR)
    k.say(cmd.TrayDone())
    k.now = MINUTE + seconds
    assert keys(k.say(cmd.TrayCold())) == [key]


def test_a_tray_that_is_filled_past_its_time_is_told_so_at_once_and_goes_on_ringing() -> None:
    k = wet(kitchen())
    k.now = 250 * MINUTE
    rings = ("tray_rings", {"tray": 1, "batch": 1, "limit": 4 * HOUR, "celsius": 5.0})
    assert k.say(cmd.TrayDone()) == [rings]
    assert rings in k.wait(2 * MINUTE)
    k.check()
    k.say(cmd.GotIt())
    assert k.state.timers == ()


def test_a_tray_that_was_filled_past_its_time_by_mistake_can_be_taken_back() -> None:
    k = wet(kitchen())
    k.now = 250 * MINUTE
    k.say(cmd.TrayDone())
    assert k.say(cmd.Undo()) == [("undone_other", {"what": "tray"})]
    assert (k.state.timers, k.batch.trays) == ((), 0)
    k.check()


def test_within_the_last_half_hour_a_later_tray_says_what_is_left() -> None:
    k = wet(kitchen())
    k.say(cmd.TrayDone())
    k.now = 228 * MINUTE
    assert k.say(cmd.TrayDone())[-1] == ("tray_soon", {"celsius": 5.0, "seconds": 10 * MINUTE})


def test_trays_of_one_dough_are_called_once_and_silenced_together() -> None:
    k = wet(kitchen())
    for _ in range(3):
        k.say(cmd.TrayDone())
    said = keys(k.wait(4 * HOUR))
    assert said == ["trays_warning", "clean_soon", "trays_ring"]
    assert k.heard[-1].values["count"] == 3
    assert keys(k.wait(MINUTE)) == ["trays_ring"]
    assert k.say(cmd.GotIt()) == [("got_it_all", {"count": 3})]
    assert k.state.timers == ()
    k.check()


def test_an_egg_wets_the_dough_as_water_does_and_salt_does_not() -> None:
    k = kitchen()
    k.say(cmd.UseRecipe("egg"))
    k.say(cmd.NewBatch(typed(1000)))
    k.wait(5 * MINUTE)
    k.say(cmd.AddAddition("whole egg"))
    assert k.batch.wet_at == 5 * MINUTE
    k.say(cmd.Undo())
    assert k.batch.wet_at is None
    k = kitchen()
    k.say(cmd.UseRecipe("wholegrain"))
    k.say(cmd.NewBatch(typed(1000)))
    k.say(cmd.AddAddition("salt"))
    assert k.batch.wet_at is None


def test_water_that_is_corrected_went_in_when_it_went_in_and_without_any_the_opening_counts() -> None:
    k = wet(kitchen())
    k.wait(5)
    k.say(cmd.MakeThat(typed(450)))
    assert k.batch.wet_at == MINUTE
    k.say(cmd.Undo())
    k.say(cmd.Undo())
    assert k.batch.wet_at is None
    assert k.batch.cold_since == 0.0


def test_a_power_cut_counts_and_one_of_unknown_length_is_told_at_the_tray() -> None:
    k = wet(kitchen())
    k.wait(HOUR)
    k.restart(off=HOUR, now=7)
    assert k.say(cmd.TrayDone()) == [("tray_care", {"tray": 1, "celsius": 5.0, "seconds": 2 * HOUR})]
    k.restart(certain=False, now=3)
    assert keys(k.say(cmd.TrayDone())) == ["tray_filled", "trays_unsure"]
    assert keys(k.say(cmd.TrayCold(2))) == ["tray_left_unsure"]
    k.check()


def test_a_cut_before_the_first_water_makes_nothing_unsure() -> None:
    k = kitchen()
    k.say(cmd.NewBatch(typed(1500)))
    k.restart(certain=False, now=3)
    k.say(cmd.AddWater(typed(465)))
    assert keys(k.say(cmd.TrayDone())) == ["tray_care"]


def test_a_tray_of_an_older_version_keeps_the_time_that_it_was_given() -> None:
    """0.1.0 counted from the tray: what it wrote is not counted anew."""
    k = wet(kitchen())
    old = ev.TrayFilled(at=HOUR, tray=1, batch=1, due=5 * HOUR, warn_at=4.5 * HOUR)
    timer = evolve(k.state, old).timer("tray 1.1")
    assert timer is not None
    assert (timer.seconds, timer.due, timer.certain) == (4 * HOUR, 5 * HOUR, True)


def test_the_rules_of_italy_and_a_kitchens_own_are_what_is_said() -> None:
    k = wet(kitchen(FoodRules("italy", 4.0, cold_s=2 * HOUR, source="our plan")))
    assert k.say(cmd.TrayDone()) == [("tray_care", {"tray": 1, "celsius": 4.0, "seconds": 2 * HOUR})]
    assert k.wait(2 * HOUR)[-1] == (
        "tray_rings",
        {"tray": 1, "batch": 1, "limit": 2 * HOUR, "celsius": 4.0},
    )


# --- clean down


def test_clean_down_is_called_once_before_its_four_hours_are_up() -> None:
    k = wet(kitchen())
    assert keys(k.wait(3.5 * HOUR - 1)) == []
    assert k.wait(1) == [("clean_soon", {"seconds": 30 * MINUTE})]
    assert k.wait(24 * HOUR) == []
    assert next_due(k.state) is None
    k.check()


@pytest.mark.parametrize(
    ("room", "hours"), [("kitchen", 4), ("12.8 C", 10), ("10 C", 16), ("7.2 C", 20), ("5 C", 24)]
)
def test_in_a_cold_room_it_is_due_later(room: str, hours: float) -> None:
    k = wet(kitchen(FoodRules(clean_s=CLEAN_WITHIN_S[room])))  # type: ignore[index]
    assert k.state.unclean is not None
    assert k.state.unclean.due == MINUTE + hours * HOUR
    assert keys(k.wait((hours - 0.5) * HOUR)) == ["clean_soon"]


def test_a_whole_clean_down_ends_it_and_the_next_dough_begins_it_anew() -> None:
    k = wet(kitchen())
    k.say(cmd.PourRest())
    k.say(cmd.CloseBatch())
    k.wait(HOUR)
    for step in CLEAN:
        k.say(step)
    assert k.state.unclean is None
    assert k.wait(10 * HOUR) == []
    k.say(cmd.NewBatch(typed(1500)))
    assert k.state.unclean is None
    k.say(cmd.AddWater(typed(465)))
    assert keys(k.wait(4 * HOUR)) == ["clean_soon"]
    k.check()


def test_a_clean_down_with_a_step_skipped_ends_nothing() -> None:
    k = wet(kitchen())
    for step in (*CLEAN[:2], cmd.WalkMove("skip"), cmd.WalkMove("done")):
        k.say(step)
    assert k.state.walk is None
    assert k.state.unclean is not None


def test_batches_after_one_another_have_the_clock_of_the_first() -> None:
    k = wet(kitchen())
    k.say(cmd.CloseBatch())
    k.wait(2 * HOUR)
    k.say(cmd.NewBatch(typed(1500)))
    (*_, opened) = (one for one in k.events if isinstance(one, ev.BatchOpened))
    assert opened.unclean_since == MINUTE
    k.say(cmd.AddWater(typed(465)))
    assert keys(k.wait(1.5 * HOUR)) == ["clean_soon"]


def test_cleaned_before_the_batch_is_closed_it_stays_clean_until_the_dough_runs_again() -> None:
    k = wet(kitchen())
    k.say(cmd.JudgeCrumb("ready"))
    k.say(cmd.Extruding())
    for step in CLEAN:
        k.say(step)
    k.say(cmd.CloseBatch())
    assert k.state.unclean is None
    k.say(cmd.Undo())
    assert k.state.unclean is None, "what is taken back doesn't soil it again"
    k.wait(HOUR)
    k.say(cmd.Extruding())
    assert k.state.unclean is not None
    assert k.state.unclean.since == k.now
    k.check()


def test_the_first_water_taken_back_takes_the_clock_with_it_and_an_end_taken_back_keeps_it() -> None:
    k = wet(kitchen())
    k.say(cmd.CloseBatch())
    assert k.state.left_unclean is not None
    k.say(cmd.Undo())
    assert k.state.left_unclean is None
    assert k.state.unclean is not None
    k.say(cmd.Undo())
    assert k.state.unclean is None
    assert next_due(k.state) is None
    k.check()


def test_nobody_is_called_who_is_at_it() -> None:
    k = wet(kitchen())
    k.wait(3.4 * HOUR)
    k.say(CLEAN[0])
    assert keys(k.wait(HOUR)) == []
    k.say(cmd.WalkMove("leave"))
    assert keys(k.wait(1)) == ["clean_late"]


def test_it_survives_a_power_cut() -> None:
    k = wet(kitchen())
    k.wait(2 * HOUR)
    k.restart(off=HOUR, now=5)
    assert k.wait(30 * MINUTE) == [("clean_soon", {"seconds": 30 * MINUTE})]
    k.restart(off=HOUR, now=5)
    assert k.wait(10 * HOUR) == []
    k.check()


def test_after_a_cut_of_unknown_length_nothing_certain_is_said() -> None:
    k = wet(kitchen())
    assert keys(k.restart(certain=False, now=5))[-1] == "times_unsure"
    assert keys(k.wait(4 * HOUR)) == ["clean_unsure"]


def test_a_batch_that_is_opened_past_it_is_told() -> None:
    k = wet(kitchen())
    k.say(cmd.CloseBatch())
    k.wait(6 * HOUR)
    assert ("clean_before", {"batch": 1}) in k.say(cmd.NewBatch(typed(1500)))


def test_what_is_more_urgent_is_said_first_and_a_kitchen_may_want_no_call() -> None:
    k = wet(kitchen())
    k.say(cmd.SetTimer("sauce", 3.5 * HOUR))
    assert keys(k.wait(3.5 * HOUR)) == ["timer_rings"]
    assert keys(k.wait(5)) == ["clean_soon"]
    quiet = wet(kitchen(replace(FoodRules(), clean_warn_s=0.0)))
    assert quiet.wait(24 * HOUR) == []


def test_asked_for_the_time_it_is_told_where_no_timer_runs() -> None:
    k = wet(kitchen())
    k.wait(HOUR)
    assert k.say(cmd.Ask("time")) == [("clean_soon", {"seconds": 3 * HOUR})]


def test_a_batch_of_an_older_version_has_no_clock_of_clean_down() -> None:
    k = wet(kitchen())
    (opened, *rest) = k.events
    assert isinstance(opened, ev.BatchOpened)
    state = evolve(Kitchen().state, replace(opened, food=None))
    for event in rest:
        state = evolve(state, event)
    assert state.unclean is None
    assert state.batch is not None
    assert state.batch.food_rules.cold_s == 4 * HOUR
