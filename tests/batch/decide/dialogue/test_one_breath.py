"""What came in one breath is taken back as one."""

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from tests.batch.kitchen import REMEMBERS, Kitchen, mixing, typed


def timers(kitchen: Kitchen) -> dict[str, float]:
    return {timer.name: timer.remaining_s(kitchen.now) for timer in kitchen.state.timers}


def with_timers(**seconds: float) -> Kitchen:
    kitchen = Kitchen()
    for name, left in seconds.items():
        kitchen.say(cmd.SetTimer(name, left))
    return kitchen


def test_undo_after_stop_all_brings_all_timers_back() -> None:
    kitchen = with_timers(sauce=600.0, pasta=300.0, oven=900.0)
    kitchen.say(cmd.StopTimer("all"))
    kitchen.wait(60.0)
    assert kitchen.say(cmd.Undo()) == [
        ("timers_again", {"count": 3}),
        ("time_left", {"timer": "pasta", "seconds": 240}),
    ]
    assert timers(kitchen) == {"sauce": 540.0, "pasta": 240.0, "oven": 840.0}
    kitchen.check()


def test_a_second_undo_goes_on_before_it() -> None:
    kitchen = with_timers(sauce=600.0, pasta=300.0)
    kitchen.say(cmd.StopTimer("all"))
    kitchen.say(cmd.Undo())
    assert kitchen.keys(cmd.Undo()) == ["undone_timer"]
    assert set(timers(kitchen)) == {"sauce"}


def test_of_the_only_timer_it_says_what_it_said() -> None:
    kitchen = with_timers(sauce=600.0)
    kitchen.say(cmd.StopTimer("all"))
    assert kitchen.keys(cmd.Undo()) == ["undone_other", "time_left"]


def test_what_would_have_rung_meanwhile_rings() -> None:
    kitchen = with_timers(sauce=600.0, pasta=30.0, oven=900.0)
    kitchen.say(cmd.StopTimer("all"))
    kitchen.wait(60.0)
    assert kitchen.say(cmd.Undo())[0] == ("timers_again", {"count": 2})
    assert [key for key, _ in kitchen.wait(1.0)] == ["timer_rings_late"]


def test_timers_stopped_one_by_one_come_back_one_by_one() -> None:
    """At one station time, as typed lines are: what tells them apart is not the clock."""
    kitchen = with_timers(sauce=600.0, pasta=300.0)
    kitchen.say(cmd.StopTimer("sauce"))
    kitchen.say(cmd.StopTimer("pasta"))
    kitchen.say(cmd.Undo())
    assert set(timers(kitchen)) == {"pasta"}


def test_undo_takes_two_commands_of_one_breath_back() -> None:
    kitchen = mixing(1500)
    before = kitchen.state
    kitchen.say(cmd.Together((cmd.AddWater(typed(150)), cmd.Mix(120.0))))
    assert kitchen.keys(cmd.Undo())[:2] == ["undone_timer", "undone_water"]
    assert kitchen.batch == before.batch
    assert kitchen.state.timers == before.timers
    assert [event.joined for event in kitchen.events if isinstance(event, ev.WaterAdded | ev.MixStarted)] == [
        False,
        True,
    ]
    kitchen.check()


def test_of_one_breath_across_an_opening() -> None:
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.Together((cmd.SetLot("12"), cmd.NewBatch(typed(1500)))))
    kitchen.say(cmd.Undo())
    assert (kitchen.state.batch, kitchen.state.next_lot) == (None, None)


def test_what_was_confirmed_later_is_a_breath_of_its_own() -> None:
    """The second of two was asked about: that it is wrong says nothing of the first."""
    kitchen = mixing(1500)
    kitchen.say(cmd.Together((cmd.Mix(60.0), cmd.AddWater(typed(600)))))
    kitchen.say(cmd.Answer(yes=True))
    kitchen.say(cmd.Undo())
    assert kitchen.batch.water_g == 0
    assert kitchen.state.timer("mix") is not None


def test_a_corrected_second_is_taken_back_alone() -> None:
    kitchen = mixing(1500)
    kitchen.say(cmd.Together((cmd.AddWater(typed(150)), cmd.Mix(120.0))))
    kitchen.say(cmd.GivenTime(180.0))
    kitchen.say(cmd.Undo())
    assert kitchen.batch.water_g == 150
    assert kitchen.state.timer("mix") is None


def test_after_a_power_cut_still_as_one() -> None:
    kitchen = with_timers(sauce=600.0, pasta=300.0)
    kitchen.say(cmd.StopTimer("all"))
    kitchen.restart(off=10.0)
    kitchen.say(cmd.Undo())
    assert set(timers(kitchen)) == {"sauce", "pasta"}
