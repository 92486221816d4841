"""Time: mixing, resting, the kitchen's own timers, ringing until acknowledged, and what is due when."""

import pytest

from assistant.batch.decide.decide import Due, Said, next_due
from assistant.batch.record.commands import (
    AddTime,
    Ask,
    CloseBatch,
    Command,
    Cook,
    GotIt,
    Mix,
    Mixer,
    NewBatch,
    PourRest,
    Rest,
    SetTimer,
    StopTimer,
    Undo,
)
from assistant.batch.record.phases import Phase
from tests.batch.kitchen import Kitchen, at_target, mixing, typed


def test_a_mix_is_announced_then_rings_and_wants_a_squeeze() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(Mix(120)) == [("mixing_for", {"seconds": 120})]
    assert next_due(kitchen.state) == 90
    assert kitchen.wait(90) == [("mix_warning", {"seconds": 30})]
    assert kitchen.say(Ask("next")) == [("next_wait_mix", {"seconds": 30})]
    assert kitchen.wait(30) == [("mix_rings", {})]
    assert kitchen.heard[-1].tone == "ring"
    assert kitchen.state.phase is Phase.SQUEEZING
    assert kitchen.say(Ask("next")) == [("next_got_it", {"timer": "mix"}), ("next_squeeze", {})]
    assert kitchen.say(GotIt()) == [("got_it", {"timer": "mix"})]
    assert kitchen.say(Ask("next")) == [("next_squeeze", {})]
    assert next_due(kitchen.state) == kitchen.state.clean_call


def test_a_short_mix_is_not_announced() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(59))
    assert kitchen.wait(59) == [("mix_rings", {})]


def test_stages_have_their_own_times() -> None:
    """Two minutes at first, one at the target; 30 s a top-up (common practice, no source)."""
    kitchen = mixing(1500, 330)
    assert kitchen.say(Mix()) == [("mixing_for", {"seconds": 120})]
    kitchen.say(PourRest())
    assert kitchen.say(Mix())[-1] == ("mixing_for", {"seconds": 60})
    assert kitchen.say(Rest())[-1] == ("resting_for", {"seconds": 90})


def test_a_rest_rings_and_wants_a_squeeze() -> None:
    kitchen = at_target()
    kitchen.say(Rest(90))
    assert kitchen.say(Ask("next")) == [("next_wait_rest", {"seconds": 90})]
    assert kitchen.wait(90) == [("rest_rings", {})]
    assert kitchen.state.phase is Phase.SQUEEZING


def test_ringing_goes_on_until_got_it_and_grows_firm() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(20))
    assert kitchen.wait(20 + 3 * 15) == [("mix_rings", {})] * 4
    assert [found.tone for found in kitchen.heard[-4:]] == ["ring", "ring", "ring_firm", "ring_firm"]
    kitchen.say(GotIt())
    assert kitchen.wait(600) == []
    assert kitchen.say(GotIt()) == [], "kitchens say it all day"
    assert kitchen.ask(Said(GotIt(), "keyboard")) == [("nothing_rings", {})]


def ringing() -> Kitchen:
    kitchen = mixing(1500, 330)
    for name, seconds in (("1", 10.0), ("2", 9.0), ("sauce", 100.0)):
        kitchen.say(SetTimer(name, seconds))
    kitchen.say(Mix(10))
    kitchen.say(Cook("penne"))
    kitchen.wait(10)
    return kitchen


def test_got_it_silences_what_is_most_urgent_and_says_which() -> None:
    kitchen = ringing()
    off = [kitchen.say(GotIt()) for _ in range(3)]
    assert off == [[("got_it", {"timer": name})] for name in ("mix", "2", "1")]
    assert {timer.name for timer in kitchen.state.timers} == {"sauce", "penne"}
    kitchen.check()


def test_got_it_all_silences_all_that_rings_and_nothing_else() -> None:
    kitchen = ringing()
    assert kitchen.say(GotIt(everything=True)) == [("got_it_all", {"count": 3})]
    assert {timer.name for timer in kitchen.state.timers} == {"sauce", "penne"}
    kitchen.wait(90)
    assert kitchen.say(GotIt(everything=True)) == [("got_it", {"timer": "sauce"})]
    assert kitchen.say(GotIt(everything=True)) == [], "kitchens say it all day"
    kitchen.check()


def test_a_loop_that_overslept_is_told_once() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(120))
    kitchen.now += 3600
    assert kitchen.ask(Due()) == [("mix_rings_late", {"seconds": 3480})]
    assert next_due(kitchen.state) == kitchen.now + 15


def test_what_was_due_first_is_said_first() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", 20))
    kitchen.say(SetTimer("2", 10))
    kitchen.now += 30
    assert kitchen.ask(Due()) == [("timer_rings_late", {"timer": "2", "seconds": 20})]
    assert kitchen.wait(5) == [("timer_rings", {"timer": "1"})]


def test_nothing_due_says_nothing() -> None:
    kitchen = mixing(1500)
    assert kitchen.ask(Due()) == []


# ---- the mixer, which the cook switches


def test_mixer_on_and_off_are_told_to_us() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(Mixer(on=False)) == [("mixer_off", {})]
    assert kitchen.say(Mixer(on=True)) == [("mixing_for", {"seconds": 120})]
    kitchen.wait(20)
    assert kitchen.say(Mixer(on=True)) == [("time_left", {"timer": "mix", "seconds": 100})]
    assert kitchen.say(Mixer(on=False)) == [("squeeze_now", {})]
    assert (kitchen.state.phase, kitchen.state.timers) == (Phase.SQUEEZING, ())
    assert kitchen.say(Undo()) == [
        ("undone_other", {"what": "other"}),
        ("time_left", {"timer": "mix", "seconds": 100}),
    ]
    assert kitchen.state.phase is Phase.MIXING


def test_mixer_off_silences_the_mix_that_rings() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(20))
    kitchen.wait(20)
    assert kitchen.say(Mixer(on=False)) == [("squeeze_now", {})]
    assert kitchen.state.timers == ()


def test_mixing_without_a_batch_is_just_a_timer() -> None:
    kitchen = Kitchen()
    assert kitchen.say(Mix(60)) == [("mixing_for", {"seconds": 60})]
    kitchen.say(NewBatch(typed(1500)))
    assert kitchen.wait(60) == [("timer_rings", {"timer": "mix"})]
    assert kitchen.state.phase is Phase.POURING
    assert kitchen.say(Mixer(on=False)) == [("mixer_off", {})]


# ---- one interval at a time


@pytest.mark.parametrize(
    ("first", "then", "name"),
    [(Mix(60), Rest(90), "rest"), (Rest(90), Mix(60), "mix"), (Mix(60), Mix(30), "mix")],
)
def test_mixing_and_resting_take_each_others_place(first: Command, then: Command, name: str) -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(first)
    before = kitchen.state
    kitchen.say(then)
    assert [timer.name for timer in kitchen.state.timers] == [name]
    (left,) = before.timers
    assert kitchen.say(Undo()) == [
        ("undone_timer", {"timer": name}),
        ("time_left", {"timer": left.name, "seconds": left.seconds}),
    ]
    assert (kitchen.state.batch, kitchen.state.timers) == (before.batch, before.timers)


def test_undo_of_a_mix_goes_back_to_pouring() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    assert kitchen.say(Undo()) == [("undone_timer", {"timer": "mix"})]
    assert (kitchen.state.phase, kitchen.state.timers) == (Phase.POURING, ())


# ---- timers by name


def test_a_timer_of_the_kitchens_own() -> None:
    kitchen = Kitchen()
    assert kitchen.say(SetTimer("sauce", 600)) == [("timer_set", {"timer": "sauce", "seconds": 600})]
    kitchen.wait(200)
    assert kitchen.say(Ask("time")) == [("time_left", {"timer": "sauce", "seconds": 400})]
    assert kitchen.wait(400) == [("timer_rings", {"timer": "sauce"})]
    assert kitchen.say(Ask("time")) == [("timer_rings", {"timer": "sauce"})]
    assert kitchen.say(Ask("next")) == [("next_got_it", {"timer": "sauce"})]


def test_a_timer_named_like_the_mix_is_the_mix() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(SetTimer("mix", 60)) == [("mixing_for", {"seconds": 60})]
    assert kitchen.state.phase.value == "mixing"
    assert kitchen.say(SetTimer("rest", 90))[-1] == ("resting_for", {"seconds": 90})
    assert kitchen.state.phase.value == "resting"


def test_setting_a_timer_anew_can_be_taken_back() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", 600))
    kitchen.say(SetTimer("1", 60))
    assert kitchen.say(Undo()) == [
        ("undone_timer", {"timer": "1"}),
        ("time_left", {"timer": "1", "seconds": 600}),
    ]
    assert kitchen.say(Undo()) == [("undone_timer", {"timer": "1"})]
    assert kitchen.state.timers == ()


def test_stopping() -> None:
    kitchen = Kitchen()
    assert kitchen.say(StopTimer()) == [("timer_none", {})]
    kitchen.say(SetTimer("1", 60))
    kitchen.say(SetTimer("2", 90))
    assert kitchen.say(StopTimer()) == [("timer_which", {})]
    assert kitchen.say(StopTimer("3")) == [("timer_unknown", {"timer": "3"})]
    assert kitchen.say(StopTimer("1")) == [("timer_stopped", {"timer": "1"})]
    assert kitchen.say(StopTimer()) == [("timer_stopped", {"timer": "2"})]
    assert kitchen.say(Ask("time")) == [("timer_none", {})]


def test_stopping_a_mix_ends_it_and_undo_lets_it_run_on() -> None:
    """Undo takes back the stop: not the water that was poured before the mix."""
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(120))
    kitchen.wait(10)
    assert kitchen.say(StopTimer()) == [("timer_stopped", {"timer": "mix"})]
    assert kitchen.state.phase is Phase.SQUEEZING
    assert kitchen.say(Undo()) == [
        ("undone_other", {"what": "other"}),
        ("time_left", {"timer": "mix", "seconds": 110}),
    ]
    assert kitchen.batch.water_g == 330
    assert kitchen.wait(110)[-1] == ("mix_rings", {})


def test_undo_of_a_stop_that_is_overdue_rings_at_once() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", 60))
    kitchen.say(StopTimer())
    kitchen.wait(100)
    assert kitchen.say(Undo()) == [("undone_other", {"what": "other"})]
    assert kitchen.wait(0) == [("timer_rings_late", {"timer": "1", "seconds": 40})]


def test_a_rest_that_is_stopped() -> None:
    kitchen = at_target()
    kitchen.say(Rest(90))
    assert kitchen.say(StopTimer("rest")) == [("timer_stopped", {"timer": "rest"})]
    assert kitchen.state.phase is Phase.SQUEEZING


def test_more_time_for_a_mix_moves_its_announcement() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    kitchen.wait(10)
    assert kitchen.say(AddTime(120)) == [("timer_extended", {"timer": "mix", "seconds": 170})]
    assert kitchen.wait(139) == []
    assert kitchen.wait(1) == [("mix_warning", {"seconds": 30})]
    assert kitchen.wait(30) == [("mix_rings", {})]


def test_more_time_after_the_announcement_is_announced_again() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    kitchen.wait(40)
    kitchen.say(AddTime(60))
    assert kitchen.wait(50) == [("mix_warning", {"seconds": 30})]


def test_more_time_can_be_taken_back() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    before = kitchen.state
    kitchen.say(AddTime(120))
    assert kitchen.say(Undo()) == [
        ("undone_other", {"what": "other"}),
        ("time_left", {"timer": "mix", "seconds": 60}),
    ]
    assert kitchen.state == before


def test_more_time_for_what_rings_starts_it_anew() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(20))
    kitchen.wait(20)
    assert kitchen.say(AddTime(30)) == [("mixing_for", {"seconds": 30})]
    assert kitchen.state.phase is Phase.MIXING
    kitchen.say(Rest(20))
    kitchen.wait(20)
    assert kitchen.say(AddTime(30)) == [("resting_for", {"seconds": 30})]
    kitchen.say(SetTimer("1", 10))
    kitchen.wait(10)
    assert kitchen.say(AddTime(60)) == [("timer_extended", {"timer": "1", "seconds": 60})]
    assert not kitchen.state.ringing


def test_more_time_without_a_name_is_for_the_next_due() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", 600))
    kitchen.say(SetTimer("2", 60))
    assert kitchen.say(AddTime(60)) == [("timer_extended", {"timer": "2", "seconds": 120})]


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan")])
def test_no_time_at_all(seconds: float) -> None:
    kitchen = mixing(1500, 330)
    for command in (Mix(seconds), Rest(seconds), SetTimer("1", seconds)):
        assert kitchen.say(command) == [("amount_zero", {})]
    assert kitchen.state.timers == ()


def test_a_day_is_the_longest() -> None:
    kitchen = Kitchen()
    assert kitchen.say(SetTimer("1", 86401)) == [("time_too_long", {"most": 86400})]
    kitchen.say(SetTimer("1", 86400))
    assert kitchen.say(AddTime(1)) == [("time_too_long", {"most": 86400})]


def test_a_ring_goes_on_after_its_batch_is_taken_back() -> None:
    kitchen = mixing(1500)
    kitchen.say(Mix(20))
    kitchen.wait(20)
    kitchen.say(Undo())
    assert kitchen.state.batch is None
    assert kitchen.wait(15) == [("timer_rings", {"timer": "mix"})]
    assert kitchen.say(CloseBatch()) == [("no_batch", {})]


@pytest.mark.parametrize(("command", "ended"), [(Mix(60), "MixEnded"), (Rest(60), "RestEnded")])
def test_what_the_clock_ended_can_not_be_taken_back(command: Command, ended: str) -> None:
    kitchen = mixing(1500, 100)
    kitchen.say(command)
    kitchen.wait(60)
    assert [type(event).__name__ for event in kitchen.events][-2:] == ["TimerRang", ended]
    kitchen.say(Undo())
    assert kitchen.batch.poured_g == 0, "the pour was the last thing that the cook did"
    kitchen.check()
