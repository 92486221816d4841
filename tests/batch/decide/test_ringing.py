"""What comes by itself: order, lateness, calls before the end, after a restart too."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.decide.decide import Due, next_due
from assistant.batch.decide.timing.ringing import GAP_S
from assistant.batch.record import events as ev
from assistant.batch.record.commands import (
    AddTime,
    Ask,
    CloseBatch,
    Command,
    Cook,
    Extruding,
    GotIt,
    JudgeCrumb,
    Mix,
    NewDie,
    Rest,
    SetTimer,
    StopTimer,
    TrayCold,
    TrayDone,
    Undo,
)
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from tests.batch.kitchen import Kitchen, at_target, mixing

FOUR_HOURS = 4 * 3600.0  # US Food Code 3-501.14(B): made from ambient ingredients, 5 C within 4 hours


def trays(count: int = 1) -> Kitchen:
    kitchen = mixing(1500)
    for _ in range(count):
        kitchen.say(TrayDone())
    return kitchen


# ---- the order


def test_what_is_due_at_once_is_said_one_after_the_other_the_most_urgent_first() -> None:
    kitchen = trays()
    kitchen.now = FOUR_HOURS - 360
    kitchen.ask(Due())
    kitchen.say(SetTimer("sauce", 360))
    kitchen.say(Mix(360))
    kitchen.say(Cook("penne"))
    kitchen.wait(359)
    order = ["cook_rings", "mix_rings", "timer_rings", "tray_rings"]
    assert [key for key, _ in kitchen.wait(1)] == order[:1]
    assert {timer.name for timer in kitchen.state.ringing} == {"penne", "mix", "sauce", "tray 1.1"}
    assert kitchen.state.phase is Phase.SQUEEZING, "what is up is up, though it is not called yet"
    assert [kitchen.wait(GAP_S)[0][0] for _ in order] == [
        "mix_rings",
        "timer_rings",
        "cook_rings",
        "tray_rings",
    ]
    kitchen.check()


def test_what_is_up_goes_before_what_is_only_announced() -> None:
    kitchen = mixing(1500)
    kitchen.say(Cook("penne"))
    kitchen.say(SetTimer("sauce", 300))
    assert [key for key, _ in kitchen.wait(300)] == ["timer_rings"]
    assert [key for key, _ in kitchen.wait(GAP_S)] == ["taste_one"]
    assert [key for key, _ in kitchen.wait(60 - GAP_S)][-1] == "cook_rings"


def test_each_of_several_calls_on_at_its_own_time() -> None:
    """They stay apart: between two calls there is room to say that one was heard."""
    kitchen = Kitchen()
    for name in "123":
        kitchen.say(SetTimer(name, 60))
    kitchen.wait(60)
    calls: dict[float, list[str]] = {}
    while kitchen.now < 120:
        due = next_due(kitchen.state)
        assert due is not None
        kitchen.now = due
        calls[due - 60] = [str(values["timer"]) for _, values in kitchen.ask(Due())]
    assert [calls[at] for at in (5, 10, 15, 20, 25, 30)] == [["2"], ["3"], ["1"], ["2"], ["3"], ["1"]]


@given(st.lists(st.tuples(st.sampled_from("123456789"), st.floats(1, 500)), max_size=12), st.floats(0, 600))
def test_every_timer_rings_at_its_time_and_none_is_lost(timers: list[tuple[str, float]], cut: float) -> None:
    kitchen = Kitchen(rules=replace(BatchRules(), ring_every_s=300.0))
    due: dict[str, float] = {}
    for name, seconds in timers:
        kitchen.say(SetTimer(name, seconds))
        due[name] = seconds
    kitchen.wait(cut)
    rang = {name for name, at in due.items() if at <= cut}
    assert {timer.name for timer in kitchen.state.ringing} == rang
    kitchen.restart(off=0.0, now=7.0)
    kitchen.wait(600)
    calls = [event for event in kitchen.events if isinstance(event, ev.TimerRang)]
    assert sorted(event.name for event in calls) == sorted(due)
    for event in calls:
        at = event.at if event.name in rang else event.at - 7.0 + cut
        assert at == pytest.approx(due[event.name])
    kitchen.check()


@given(st.floats(0.01, 4000), st.floats(0, 5000))
def test_a_late_ring_says_how_late(seconds: float, late: float) -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", seconds))
    kitchen.now += seconds + late
    said = kitchen.ask(Due())
    told = ("timer_rings_late", {"timer": "1", "seconds": pytest.approx(late)})
    assert len(said) == 1
    assert said[0] == (told if late > 3.01 else ("timer_rings", {"timer": "1"}) if late < 2.99 else said[0])


def test_what_rings_on_says_since_when() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("sauce", 60))
    said = kitchen.wait(60 + 90)
    assert said[:5] == [("timer_rings", {"timer": "sauce"})] * 5, "for a minute it only rings"
    assert said[5:] == [("timer_rings_late", {"timer": "sauce", "seconds": 90})]


def test_a_time_that_is_not_certain_is_not_called_late() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("1", 60))
    kitchen.restart(certain=False)
    kitchen.now += 100
    assert kitchen.ask(Due()) == [("timer_rings", {"timer": "1"})]


# ---- long rests


def test_a_long_rest_is_called_at_half_time_and_in_its_last_minute() -> None:
    kitchen = mixing(1500)
    kitchen.say(Rest(1200))
    assert kitchen.wait(599.9) == []
    assert kitchen.wait(0.1) == [("rest_half", {"seconds": 600})]
    assert kitchen.wait(539.9) == []
    assert kitchen.wait(0.1) == [("rest_warning", {"seconds": 60})]
    assert kitchen.wait(60) == [("rest_rings", {})]
    kitchen.check()


@pytest.mark.parametrize(("seconds", "threshold"), [(599.0, 600.0), (1200.0, 0.0), (180.0, 60.0)])
def test_a_rest_that_the_kitchen_wants_no_calls_for(seconds: float, threshold: float) -> None:
    kitchen = mixing(1500, rules=replace(BatchRules(), rest_calls_s=threshold))
    kitchen.say(Rest(seconds))
    assert kitchen.wait(seconds) == [("rest_rings", {})]


def test_prep_is_told_of_a_long_rest_and_of_its_end() -> None:
    kitchen = mixing(1500, rules=replace(BatchRules(), prep_calls=True))
    assert kitchen.say(Rest(600)) == [("resting_for", {"seconds": 600}), ("prep_rest", {"seconds": 600})]
    kitchen.wait(599)
    assert kitchen.wait(1) == [("rest_rings_prep", {})]
    assert kitchen.wait(15) == [("rest_rings", {})], "prep is told once"
    kitchen.say(GotIt())
    assert kitchen.say(Rest(90)) == [("resting_for", {"seconds": 90})]
    assert kitchen.wait(90) == [("rest_rings", {})]


def test_calls_of_a_rest_survive_a_power_cut() -> None:
    kitchen = mixing(1500)
    kitchen.say(Rest(1200))
    kitchen.wait(100)
    kitchen.restart(off=50, now=3)
    assert kitchen.wait(450) == [("rest_half", {"seconds": 600})]
    assert kitchen.wait(540) == [("rest_warning", {"seconds": 60})]
    kitchen.check()


def test_more_time_for_a_rest_keeps_its_last_minute() -> None:
    kitchen = mixing(1500)
    kitchen.say(Rest(600))
    kitchen.wait(310)
    kitchen.say(AddTime(600))
    assert kitchen.wait(829) == []
    assert kitchen.wait(1) == [("rest_warning", {"seconds": 60})]


# ---- cooking


def test_a_shape_is_timed_by_the_settings_and_tasted_a_minute_before() -> None:
    # Fresh extruded pasta, 5 to 7 minutes: common practice, no source.
    kitchen = Kitchen()
    kitchen.known = replace(kitchen.known, cooking_s={"penne": 420.0})
    assert kitchen.say(Cook("penne")) == [("cooking_for", {"die": "penne", "seconds": 420})]
    assert kitchen.say(Cook("fusilli")) == [("cooking_for", {"die": "fusilli", "seconds": 360})]
    assert kitchen.wait(300) == [("taste_one", {"die": "fusilli"})]
    assert kitchen.wait(60) == [("cook_rings", {"die": "fusilli"})]
    assert kitchen.say(GotIt()) == [("got_it", {"timer": "fusilli"})]
    assert kitchen.wait(60) == [("taste_one", {"die": "penne"}), ("cook_rings", {"die": "penne"})]
    kitchen.check()


def test_pasta_that_needs_longer_is_tasted_again() -> None:
    kitchen = Kitchen()
    kitchen.say(Cook("penne"))
    kitchen.wait(300)
    kitchen.say(AddTime(60))
    assert kitchen.wait(60) == [("taste_one", {"die": "penne"})]
    assert kitchen.wait(60) == [("cook_rings", {"die": "penne"})]


# ---- trays: trade case 53


def test_a_tray_is_called_before_its_four_hours_are_up_and_then() -> None:
    kitchen = trays()
    said = kitchen.wait(FOUR_HOURS - 1800)
    assert said == [("tray_warning", {"tray": 1, "batch": 1, "seconds": 1800, "celsius": 5})]
    assert kitchen.wait(1799.9) == []
    assert kitchen.wait(0.1) == [("tray_rings", {"tray": 1, "batch": 1, "limit": FOUR_HOURS, "celsius": 5})]
    assert kitchen.wait(60) == [("tray_rings", {"tray": 1, "batch": 1, "limit": FOUR_HOURS, "celsius": 5})]
    assert kitchen.say(GotIt()) == [("got_it_tray", {"tray": 1, "batch": 1})]
    assert kitchen.wait(FOUR_HOURS) == []


@pytest.mark.parametrize(
    ("seconds", "key"),
    [(FOUR_HOURS - 60, "tray_cold"), (FOUR_HOURS, "tray_cold_late"), (FOUR_HOURS + 60, "tray_cold_late")],
)
def test_a_tray_is_cold_within_four_hours_or_too_late(seconds: float, key: str) -> None:
    kitchen = trays()
    kitchen.now += seconds
    assert kitchen.keys(TrayCold(1)) == [key]
    assert kitchen.state.timers == ()
    kitchen.check()


def test_the_tray_that_waits_longest_is_meant_where_none_is_named() -> None:
    kitchen = trays(2)
    kitchen.wait(600)
    assert kitchen.say(TrayCold()) == [("tray_cold", {"tray": 1, "seconds": 600})]
    assert kitchen.say(TrayCold(1)) == [("tray_unknown", {})]
    assert kitchen.say(TrayCold(2)) == [("tray_cold", {"tray": 2, "seconds": 600})]
    assert kitchen.say(Undo()) == [
        ("undone_other", {"what": "tray"}),
        ("tray_left", {"tray": 2, "batch": 1, "seconds": FOUR_HOURS - 600, "celsius": 5}),
    ]
    kitchen.check()


def test_a_tray_outlives_its_batch_and_a_power_cut_and_no_timer_command_touches_it() -> None:
    kitchen = trays()
    kitchen.say(CloseBatch())
    assert kitchen.keys(StopTimer()) == ["timer_none"]
    assert kitchen.keys(AddTime(600)) == ["timer_none"]
    kitchen.wait(600)
    kitchen.restart(off=1000, now=5)
    assert kitchen.say(Ask("time")) == [
        ("tray_left", {"tray": 1, "batch": 1, "seconds": FOUR_HOURS - 1600, "celsius": 5})
    ]
    assert kitchen.wait(FOUR_HOURS - 3400)[-1][0] == "tray_warning"


def test_a_tray_that_rings_gets_no_more_time() -> None:
    """US Food Code 3-501.14(B): the four hours are not the cook's to lengthen."""
    kitchen = trays()
    kitchen.wait(FOUR_HOURS + 60)
    [before] = kitchen.state.ringing
    assert kitchen.keys(AddTime(600)) == ["timer_none"]
    assert kitchen.state.ringing == (before,)


def test_taking_a_tray_back_takes_its_clock_back() -> None:
    kitchen = trays(2)
    kitchen.say(Undo())
    assert [timer.name for timer in kitchen.state.timers] == ["tray 1.1"]
    assert kitchen.batch.trays == 1
    kitchen.check()


def test_a_tray_of_an_old_journal_has_no_clock() -> None:
    kitchen = mixing(1500)
    assert evolve(kitchen.state, ev.TrayFilled(at=5.0, tray=1)).timers == ()


def test_what_nobody_hears_calls_on_but_further_apart() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("2", 60.0))
    moments = []
    for _ in range(15):
        due = next_due(kitchen.state)
        assert due is not None
        kitchen.now = due
        kitchen.ask(Due())
        moments.append(due - 60.0)
    assert moments[:5] == [0.0, 15.0, 30.0, 45.0, 60.0]
    assert moments[5:] == [90.0, 120.0, 150.0, 180.0, 240.0, 300.0, 360.0, 420.0, 540.0, 660.0]


def test_a_ring_within_three_seconds_is_not_late() -> None:
    kitchen = Kitchen()
    kitchen.say(SetTimer("sauce", 60))
    kitchen.now += 63.0
    assert [key for key, _ in kitchen.ask(Due())] == ["timer_rings"]


# ---- a crumb that is ready and left alone


def ready() -> Kitchen:
    kitchen = at_target()
    kitchen.say(JudgeCrumb("ready"))
    return kitchen


def test_a_ready_crumb_left_alone_is_mentioned_once() -> None:
    kitchen = ready()
    assert kitchen.wait(1199.9) == []
    assert kitchen.wait(0.1) == [("crumb_left", {"seconds": 1200})]
    assert kitchen.wait(7200) == []
    kitchen.check()


@pytest.mark.parametrize("command", [Extruding(), Rest(7200), JudgeCrumb("dry"), CloseBatch()])
def test_a_crumb_that_somebody_went_on_with_is_not_mentioned(command: Command) -> None:
    kitchen = ready()
    kitchen.say(command)
    assert next_due(kitchen.state) != kitchen.now + 1200
    assert "crumb_left" not in [key for key, _ in kitchen.wait(3000)]


def test_a_kitchen_that_wants_no_call_of_the_crumb_gets_none() -> None:
    kitchen = mixing(1500, 465, rules=replace(BatchRules(), ready_call_s=0.0))
    kitchen.say(JudgeCrumb("ready"))
    assert kitchen.state.ready_call_at is None
    assert kitchen.state.crumb_call is None
    assert "crumb_left" not in [key for key, _ in kitchen.wait(7200)]


def test_extruding_taken_back_the_crumb_waits_as_before() -> None:
    kitchen = ready()
    kitchen.wait(600)
    kitchen.say(Extruding())
    kitchen.say(Undo())
    assert kitchen.wait(600) == [("crumb_left", {"seconds": 1200})]
    kitchen.say(NewDie("shells"))
    kitchen.say(Undo())
    assert kitchen.wait(7200) == []
    kitchen.check()


def test_the_crumb_waits_through_a_power_cut_and_behind_a_ring() -> None:
    kitchen = ready()
    kitchen.say(SetTimer("sauce", 1200))
    kitchen.wait(200)
    kitchen.restart(off=100, now=3)
    assert kitchen.wait(900) == [("timer_rings", {"timer": "sauce"})]
    assert kitchen.wait(GAP_S) == [("crumb_left", {"seconds": 1200})]
    kitchen.check()


def test_a_crumb_of_an_old_journal_is_not_mentioned() -> None:
    kitchen = at_target()
    old = ev.CrumbJudged(at=kitchen.now, verdict="ready", hydration_pct=31.0)
    assert evolve(kitchen.state, old).crumb_call is None
