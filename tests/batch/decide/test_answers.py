"""What is answered when it is asked, the voice's own commands, and that every announcement can be heard."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import get_args

import pytest

from assistant.batch.decide.decide import ClockSet, Said
from assistant.batch.decide.station_commands import MOST_STEPS
from assistant.batch.record.announcements import SAYABLE, say
from assistant.batch.record.commands import (
    AddAddition,
    AddFlour,
    AddTime,
    AddWater,
    Answer,
    Ask,
    Cancel,
    CloseBatch,
    Command,
    DieWarm,
    DropBatch,
    Extruding,
    GotIt,
    Incomplete,
    JudgeCrumb,
    LeaveOut,
    Listening,
    Loudness,
    MachineQuestion,
    MakeThat,
    Mix,
    Mixer,
    NewBatch,
    NewDie,
    Pace,
    Portions,
    PourRest,
    PrepRest,
    Rest,
    SameAgain,
    SayAgain,
    Scrap,
    SetLot,
    SetTarget,
    SetTimer,
    StopTimer,
    TellCondition,
    TookOut,
    Topic,
    TrayDone,
    Undo,
    UseRecipe,
)
from assistant.batch.record.rules import DayFigures, PlanTime
from assistant.batch.record.sayable.print_sayable import PRINT_SAYABLE
from assistant.batch.record.timer_kinds import PREP_NAMES
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.nlu import load_grammar
from assistant.ports import Asking
from tests.batch.kitchen import HOT_DIE, PLANNED, REMEMBERS, Kitchen, at_target, mixing, typed
from tests.batch.shift_heard import (
    CLOCK_SET,
    COARSE,
    DAY,
    DAY_AND_PLAN,
    DAY_AND_STOCK,
    DIES,
    LATE,
    LATE_PLAN,
    NO_BATCH_TODAY,
    OLD_PLAN,
    PLANNING,
    PREP,
    SHIFT_HEARD,
)
from tests.nlg.off_first import replies_of

YES = Answer(yes=True)


def no_batch_today() -> DayFigures:
    return DayFigures(0, 0, 0.0)


def two_batches_today() -> DayFigures:
    return DayFigures(2, 24, 90.0, ("12",))


def a_little_flour_left() -> DayFigures:
    return replace(two_batches_today(), left_g=(("12", 100.0),))


def new(flour: float) -> NewBatch:
    return NewBatch(typed(flour))


def water(value: float) -> AddWater:
    return AddWater(typed(value))


# Said by the loop of itself, not by a decision.
OF_THE_LOOP = {
    "cannot_hear",
    "hearing_again",
    "too_loud",
    "clipped",
    "cannot_write",
    "not_written",
    "written_again",
    "journal_unread",
    "journal_moved",
    "journal_aside",
    "journal_lost",
    "journal_put_back",
    "journal_damaged",
    "copy_failed",
    "words_left_out",
    "worker_died",
    "worker_works",
    "parts_missing",
    "fell_behind",
}
# Heard at a keyboard: test_station.py.
OF_THE_LOOP |= {"not_understood", "not_understood_near"}
OF_THE_LOOP |= {"switch_stuck", "switch_lost", "switch_works"}
OF_THE_LOOP |= {
    "on_scale",
    "jug_off",
    "jug_zeroed",
    "jug_not_off",
    "jug_unsteady",
    "jug_dripped",
    "jug_not_alone",
}
OF_THE_LOOP |= {"scale_overloaded", "scale_drifted", "scale_rate", "scale_lost", "scale_works"}
# Heard while the scale is calibrated: devices/test_calibrating.py.
OF_THE_LOOP |= {"scale_uncalibrated", "scale_calibrating", "calibrated"}
OF_THE_LOOP |= {key for key in SAYABLE if key.startswith("calibrate_")}
# What takes the place of a longer one: nlg/test_brevity.py. The further pages of help: below.
OF_THE_LOOP |= {
    "hopper_full",
    "rescue_waits",
    "batch_open",
    "batch_closed_only",
    "walk_skipped_noted",
    "walk_asks",
    "batch_opened_short",
    "tray_care_short",
    "clock_set",
    "ask_over_hopper_short",
    "batch_again_short",
    "batch_over_short",
    "ask_addition_short",
    "addition_short",
    "wet_flour_short",
    "wet_over_short",
    "undone_short",
    "timer_over_short",
    "ask_past_high_short",
}
OF_THE_LOOP |= {"help_numbers", "help_mend", "help_timers", "help_plan", "help_asking"}
# Heard with the jug scale: test_same_pour.py.
OF_THE_LOOP |= {"jug_agrees", "jug_had_it", "ask_jug_differs", "ask_voice_differs", "entry_stays", "no_scale"}
# Heard in a practice: station/test_practice.py.
OF_THE_LOOP |= {"practice_say", "practice_again", "practice_other", "practice_wait", "practice_passed"}
OF_THE_LOOP |= {"practice_over", "practice_over_few", "practice_left"}
# Heard with a printer: test_printing.py.
OF_THE_LOOP |= set(PRINT_SAYABLE)
UNSURE, UNCERTAIN = "badly heard: ", "power cut"

# A short kitchen that ends in each announcement: commands, seconds that pass, or one of the words above.
HEARD_AFTER: Mapping[str, Sequence[Command | Said | float | str]] = {
    "batch_opened": [new(1500)],
    "first_pour": [new(1500)],
    "batch_opened_over": [new(2400)],
    "hopper_over": [
        new(2250),
        SetTarget(35),
        YES,
        AddFlour(Amount(60)),
        Answer(yes=False),
        MakeThat(Amount(2245)),
    ],
    "flour_too_little": [new(50)],
    "flour_too_much": [new(5000)],
    "batch_already_open": [new(1500), new(1500)],
    "no_batch": [TrayDone()],
    "batch_closed": [new(1500), water(465), CloseBatch()],
    "batch_closed_dry": [new(1500), CloseBatch()],
    "batch_dropped": [new(1500), DropBatch()],
    "batch_resumed": [new(1500), UNCERTAIN],
    "batch_resumed_over": [new(1500), water(480), UNCERTAIN],
    "target_set": [new(1500), SetTarget(32)],
    "target_set_next": [SetTarget(32)],
    "target_impossible": [SetTarget(3)],
    "lot_named": [SetLot("471")],
    "water_in": [new(1500), water(150)],
    "water_in_twice": [new(1500), water(450), AddWater(Amount(15))],
    "flour_in": [new(1500), AddFlour(Amount(200))],
    "flour_in_twice": [new(1500), AddFlour(Amount(60))],
    "scrap_in": [new(1500), Scrap(Amount(40))],
    "corrected": [new(1500), MakeThat(Amount(1600))],
    "amount_zero": [new(1500), water(0)],
    "amount_too_much": [new(1500), water(5000)],
    "nothing_left_to_pour": [new(1500), PourRest(), PourRest()],
    "left": [new(1500), water(150)],
    "on_target": [new(1500), water(330), Mix(60), PourRest()],
    "on_target_mix": [new(1500), water(465)],
    "over_target": [new(1500), water(470)],
    "at_high": [new(1500), Mix(60), water(495)],
    "at_high_mix": [new(1500), water(495)],
    "over_high": [new(1500), water(500), YES, Ask("left")],
    "rescue_fits": [new(1500), water(500), YES],
    "rescue_over_hopper": [new(2200), water(760), YES],
    "rescue_beyond": [new(2200), water(1200), YES],
    "mix_then_squeeze": [new(1500), water(330)],
    "undone_water": [new(1500), water(150), Undo()],
    "undone_flour": [new(1500), AddFlour(Amount(200)), Undo()],
    "undone_scrap": [new(1500), Scrap(Amount(40)), Undo()],
    "undone_correction": [new(1500), MakeThat(Amount(1600)), Undo()],
    "undone_opening": [new(1500), Undo()],
    "undone_closing": [new(1500), DropBatch(), Undo()],
    "undone_timer": [Mix(60), Undo()],
    "undone_crumb": [new(1500), JudgeCrumb("dry"), Undo()],
    "undone_other": [SetLot("471"), Undo()],
    "nothing_to_undo": [Undo()],
    "squeeze_now": [new(1500), Mix(60), Mixer(on=False)],
    "pour_on": [new(1500), JudgeCrumb("dry")],
    "top_up": [new(1500), PourRest(), JudgeCrumb("dry")],
    "dry_at_high": [new(1500), water(495), JudgeCrumb("dry")],
    "crumb_ready": [new(1500), PourRest(), JudgeCrumb("ready")],
    "crumb_left": [new(1500), PourRest(), JudgeCrumb("ready"), 1200.0],
    "crumb_ready_low": [new(1500), water(430), JudgeCrumb("ready")],
    "wet_wait": [new(1500), water(330), JudgeCrumb("wet")],
    "wet_flour": [new(1500), PourRest(), JudgeCrumb("wet")],
    "wet_flour_over_hopper": [new(2280), PourRest(), JudgeCrumb("wet")],
    "mixing_for": [Mix(60)],
    "resting_for": [Rest(60)],
    "timer_set": [SetTimer("1", 60)],
    "timer_extended": [SetTimer("1", 60), AddTime(60)],
    "timer_stopped": [SetTimer("1", 60), StopTimer("1")],
    "timers_again": [SetTimer("1", 60), SetTimer("2", 60), StopTimer("all"), Undo()],
    "cancel_which": [SetTimer("1", 60), 11.0, Cancel()],
    "timers_stopped": [SetTimer("1", 60), SetTimer("2", 60), StopTimer("all")],
    "ask_new_batch": [AddFlour(Amount(1500))],
    "timer_none": [StopTimer()],
    "timer_which": [SetTimer("1", 60), SetTimer("2", 60), StopTimer()],
    "timer_unknown": [StopTimer("1")],
    "time_too_long": [SetTimer("1", 1e6)],
    "time_left": [SetTimer("1", 60), Ask("time")],
    "time_left_two": [SetTimer("1", 60), SetTimer("2", 90), SetTimer("3", 95), Ask("time")],
    "timers_more": [SetTimer("1", 60), SetTimer("2", 90), SetTimer("3", 95), Ask("time")],
    "times_unsure": [SetTimer("1", 60), SetTimer("2", 60), UNCERTAIN],
    "time_left_unsure": [SetTimer("1", 60), UNCERTAIN],
    "mix_warning": [new(1500), Mix(60), 30.0],
    "mix_rings": [new(1500), Mix(60), 60.0],
    "rest_rings": [new(1500), Rest(60), 60.0],
    "mix_rings_late": [new(1500), Mix(60), 60.0, 60.0, 30.0],
    "timer_rings": [SetTimer("1", 60), 60.0],
    "timer_rings_late": [SetTimer("1", 60), 60.0, 60.0, 30.0],
    "got_it_all": [SetTimer("1", 60), SetTimer("2", 60), 60.0, GotIt(everything=True)],
    "got_it": [SetTimer("1", 60), 60.0, GotIt()],
    "nothing_rings": [new(1500), AddWater(typed(600)), GotIt()],
    "mixer_off": [Mixer(on=False)],
    "you_switch": [MachineQuestion()],
    "extruding": [new(1500), PourRest(), JudgeCrumb("ready"), Extruding()],
    "extruding_early": [new(1500), PourRest(), Extruding()],
    "extruding_dry": [new(1500), Extruding()],
    "die_named": [new(1500), NewDie("shells")],
    "tray_filled": [new(1500), TrayDone(), TrayDone()],
    "portions_counted": [new(1500), Portions(12)],
    "account": [new(1500), Ask("in")],
    "hydration": [new(1500), Ask("hydration")],
    "to_marks": [new(1500), Ask("left")],
    "past_target": [new(1500), water(470), Ask("left")],
    "where": [new(1500), Ask("where")],
    "next_open": [Ask("next")],
    "next_pour": [new(1500), water(330), JudgeCrumb("dry"), Ask("next")],
    "next_first_pour": [new(1500), Ask("next")],
    "next_mix": [new(1500), water(330), Ask("next")],
    "next_squeeze": [new(1500), Mix(60), Mixer(on=False), Ask("next")],
    "next_wait_mix": [new(1500), Mix(60), Ask("next")],
    "next_wait_rest": [new(1500), Rest(60), Ask("next")],
    "next_extrude": [new(1500), PourRest(), JudgeCrumb("ready"), Ask("next")],
    "next_close": [new(1500), Extruding(), DieWarm(), Ask("next")],
    "next_got_it": [SetTimer("1", 60), 60.0, Ask("next")],
    "help_idle": [Ask("help")],
    "help_pouring": [new(1500), Ask("help")],
    "help_waiting": [new(1500), Mix(60), Ask("help")],
    "help_squeeze": [new(1500), Mix(60), Mixer(on=False), Ask("help")],
    "help_extruding": [new(1500), Extruding(), Ask("help")],
    "help_question": [new(1500), water(600), Ask("help")],
    "say_again": [SayAgain()],
    "ask_twin": [new(1500), water(150), AddWater(Amount(13))],
    "ask_past_high": [new(1500), water(600)],
    "ask_unsure": [UNSURE, SetLot("471")],
    "ask_meant": [Said(SetLot("471"), text="the bag says 471", unsure=True, guessed=True)],
    "ask_unsure_amount": [UNSURE, new(1500)],
    "ask_time_running": [new(1500), Mix(60), CloseBatch()],
    "ask_target": [SetTarget(36)],
    "not_logged": [new(1500), water(600), Answer(yes=False)],
    "lapsed": [new(1500), water(600), 10.0],
    "yes_or_no": [new(1500), water(600), UNSURE, YES],
    "number_missing": [Incomplete("water", "number")],
    "what_then": [new(1500), Answer(yes=False)],
    "unit_unfit": [Incomplete("water", "unit")],
    "louder": [Loudness(1)],
    "softer": [Loudness(-1)],
    "faster": [Pace(1)],
    "slower": [Pace(-1)],
    "voice_at_end": [Loudness(1)] * (MOST_STEPS + 1),
    "listening_off": [Listening(on=False)],
    "listening_on": [Listening(on=True)],
    "ready": [UNCERTAIN],
    "lot_likely": [SetLot("12")],
    "lot_unknown": [SetLot("99")],
    "lot_coarse": [COARSE, SetLot("12")],
    "lot_takes_more": [SetLot("7")],
    "lot_takes_less": [SetLot("8")],
    "lot_first_pour": [new(1500), SetLot("12")],
    "lot_first_pour_pct": [SetLot("12")],
    "recipe_chosen": [UseRecipe("egg")],
    "recipe_unknown": [UseRecipe("rye")],
    "allergen_before": [UseRecipe("egg"), new(1500), YES, DropBatch(), new(1500)],
    "ask_addition": [UseRecipe("egg"), new(1500)],
    "addition_in": [UseRecipe("egg"), new(1500), YES],
    "addition_not_in": [UseRecipe("egg"), new(1500), Answer(yes=False)],
    "addition_left_out": [UseRecipe("egg"), new(1500), LeaveOut("egg")],
    "addition_settled": [UseRecipe("egg"), new(1500), YES, LeaveOut("egg")],
    "addition_unknown": [UseRecipe("egg"), new(1500), AddAddition("salt")],
    "ask_in_already": [UseRecipe("egg"), new(1500), YES, AddAddition("egg")],
    "undone_addition": [UseRecipe("egg"), new(1500), YES, Undo()],
    "taken_out": [new(1500), PourRest(), Mix(60), TookOut(Amount(300))],
    "taken_out_of_what": [new(1500), water(330), TookOut(Amount(300)), Answer(yes=False)],
    "taken_too_much": [new(1500), TookOut(Amount(1450))],
    "ask_mixed": [new(1500), water(330), TookOut(Amount(300))],
    "undone_taken_out": [new(1500), TookOut(Amount(300)), Undo()],
    "ask_over_hopper": [new(2000), AddFlour(Amount(400))],
    "condition_told": [new(1500), TellCondition("dough", 28)],
    "condition_impossible": [new(1500), TellCondition("dough", 128)],
    "ask_far_from_lot": [SetLot("12"), new(1500), water(420), JudgeCrumb("ready"), CloseBatch()],
    "lot_climbs": [SetLot("6")],
    "batch_again": [SetLot("12"), new(1500), DropBatch(), SameAgain()],
    "no_batch_before": [SameAgain()],
    "timer_over": [Rest(60), Mix(60)],
    "prep_full": [PrepRest(600)] * (len(PREP_NAMES) + 1),
    "prep_rings": [PrepRest(600), 600.0],
    "extruding_low": [new(1500), water(430), JudgeCrumb("ready"), Extruding()],
    "ask_far_ready": [new(1500), JudgeCrumb("ready")],
    "ask_far_close": [new(1500), water(330), CloseBatch()],
    "ask_lot_change": [new(1500), SetLot("12"), SetLot("7")],
    "ask_portions": [new(1500), Portions(40)],
    "ask_again": [new(1500), water(150), water(150)],
    **SHIFT_HEARD,
}


@pytest.mark.parametrize("key", sorted(HEARD_AFTER))
def test_an_announcement_is_heard_at_the_end_of_its_kitchen_and_not_before(key: str) -> None:
    kitchen, unsure = Kitchen(known=REMEMBERS), False
    said: list[str] = []
    for index, step in enumerate(HEARD_AFTER[key]):
        assert key not in said, f"said already before step {index}"
        if step == UNSURE:
            unsure = True
            continue
        if step == UNCERTAIN:
            found = kitchen.restart(certain=False, known=True)
        elif step == CLOCK_SET:
            found = kitchen.ask(ClockSet(7200.0))
        elif step == PREP:
            kitchen.rules = replace(kitchen.rules, prep_calls=True)
            continue
        elif step == COARSE:
            kitchen.known = replace(kitchen.known, granulation={"12": 500.0})
            continue
        elif step == DIES:
            kitchen.known = replace(kitchen.known, dies=lambda _die: HOT_DIE)
            continue
        elif step in (PLANNING, LATE_PLAN, OLD_PLAN):
            # The first batch is planned for 16:30.
            time = {LATE_PLAN: PlanTime(0, 61_200.0), OLD_PLAN: PlanTime(1, 30_000.0)}.get(str(step))
            kitchen.known = replace(kitchen.known, plan=PLANNED, plan_time=time)
            continue
        elif step in (DAY, NO_BATCH_TODAY, DAY_AND_PLAN, DAY_AND_STOCK):
            days = {NO_BATCH_TODAY: no_batch_today, DAY_AND_STOCK: a_little_flour_left}
            plan = PLANNED if step in (DAY_AND_PLAN, DAY_AND_STOCK) else ()
            kitchen.known = replace(kitchen.known, day=days.get(step, two_batches_today), plan=plan)
            continue
        elif step == LATE:
            kitchen.now += 100
            continue
        elif isinstance(step, float):
            found = kitchen.wait(step)
        elif isinstance(step, Said):
            found = kitchen.ask(step)
        else:
            assert not isinstance(step, str)
            found = kitchen.say(step, unsure=unsure, text="as heard")
        said = [name for name, _ in found]
    assert key in said
    kitchen.check()


def test_nothing_sayable_is_dead() -> None:
    assert set(HEARD_AFTER) | OF_THE_LOOP == set(SAYABLE)
    assert not set(HEARD_AFTER) & OF_THE_LOOP


def test_an_announcement_wants_just_its_values() -> None:
    with pytest.raises(KeyError) as error:
        say("left", flour=1)
    assert error.value.args == ("left wants ['grams'], got ['flour']",)


# ---- asking


def test_where_are_we() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.say(Ask("where")) == [
        ("where", {"batch": 1, "flour": 1500, "water": 150, "hydration": pytest.approx(10)}),
        ("left", {"grams": 315}),
    ]
    assert kitchen.say(Ask("in")) == [("account", {"water": 150, "flour": 1500})]
    assert kitchen.say(Ask("hydration")) == [("hydration", {"hydration": pytest.approx(10), "target": 31})]


@pytest.mark.parametrize(
    ("in_g", "said"),
    [
        (150, ("to_marks", {"to_target": 315, "to_high": 345})),
        (465, ("on_target", {})),
        (470, ("past_target", {"over": 5, "to_high": 25})),
        (495, ("at_high", {})),
        (500, ("over_high", {"grams": 5})),
    ],
)
def test_how_much_left(in_g: float, said: tuple[str, dict[str, float]]) -> None:
    kitchen = mixing(1500, in_g)
    kitchen.say(YES)
    assert kitchen.say(Ask("left")) == [said]


def test_asking_changes_nothing() -> None:
    kitchen = at_target(1500)
    events = list(kitchen.events)
    for topic in get_args(Topic):
        assert kitchen.say(Ask(topic)) != []
    assert kitchen.say(SayAgain()) == [("say_again", {})]
    assert kitchen.events == events


# ---- the voice


def test_the_voice_goes_three_steps_to_either_side() -> None:
    kitchen = Kitchen()
    assert [kitchen.keys(Loudness(1))[0] for _ in range(4)] == ["louder"] * 3 + ["voice_at_end"]
    assert [kitchen.keys(Pace(-1))[0] for _ in range(4)] == ["slower"] * 3 + ["voice_at_end"]
    assert (kitchen.state.loudness, kitchen.state.pace) == (3, -3)


def test_not_listening_means_only_to_be_told_to_listen() -> None:
    kitchen = mixing(1500)
    kitchen.say(SetTimer("1", 60))
    assert kitchen.say(Listening(on=False)) == [("listening_off", {})]
    state = kitchen.state
    for command in (water(150), Undo(), Ask("left"), Listening(on=False), YES):
        assert kitchen.say(command) == []
        assert kitchen.ask(Said(command, "keyboard")) == []
    assert kitchen.state == state
    assert kitchen.wait(60) == [("timer_rings", {"timer": "1"})]
    assert kitchen.say(Listening(on=True)) == [("listening_on", {})]
    assert kitchen.keys(water(150)) == ["water_in", "left"]


def test_the_state_as_the_program_prints_it() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(SetLot("471"))
    kitchen.say(Mix(120))
    kitchen.wait(20)
    assert kitchen.state.account(kitchen.now) == {
        "phase": "mixing",
        "flour_g": 1500.0,
        "water_g": 330.0,
        "hydration_pct": 22.0,
        "target_pct": 31.0,
        "low_pct": 30.0,
        "high_pct": 33.0,
        "to_target_g": 135.0,
        "to_low_g": 120.0,
        "to_high_g": 165.0,
        "crumb": None,
        "timers": [{"name": "mix", "remaining_s": 100.0, "ringing": False}],
        "lot": "471",
        "batch": 1,
    }
    empty = Kitchen().state.account(0.0)
    assert (empty["phase"], empty["flour_g"], empty["timers"]) == ("idle", None, [])


# ---- help


def pages(kitchen: Kitchen, count: int) -> list[str]:
    """Keys of what help says when it is asked for so many times."""
    requests = [Said(Ask("help"), again=again) for again in range(count)]
    return [kitchen.ask(request)[0][0] for request in requests]


def test_help_goes_on_where_it_stopped_and_begins_again_at_the_end() -> None:
    more = ["help_numbers", "help_mend", "help_timers", "help_plan", "help_asking"]
    assert pages(Kitchen(), 7) == ["help_idle", *more, "help_idle"]
    assert pages(mixing(1500), 2) == ["help_pouring", "help_numbers"]


def test_help_names_every_kind_of_thing_that_can_be_said() -> None:
    """In whole sentences that are understood as they stand."""
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    named = {
        "help_idle": ["new batch two kilos", "lot twelve", "opening check"],
        "help_numbers": ["water one fifty", "make that one thirty"],
        "help_mend": ["undo", "say again"],
        "help_timers": ["timer two ten minutes", "time left", "stop timer two", "got it"],
        "help_plan": ["recipe egg", "lot twelve", "what's the plan"],
        "help_asking": ["what next", "where are we", "how much left"],
        "help_extruding": ["tray done", "scrap forty", "close batch"],
    }
    for key, sentences in named.items():
        text = replies_of("en").render(say(key)).lower()
        for sentence in sentences:
            assert sentence in text, text
            assert grammar.parse(sentence, asking=Asking.NOTHING) is not None, sentence


# ---- time left


def test_of_many_timers_the_two_next_are_told_and_how_many_more() -> None:
    kitchen = Kitchen()
    for name in "1234567":
        kitchen.say(SetTimer(name, 60.0 * int(name)))
    two = {"timer": "1", "seconds": 60, "other": "2", "later": 120}
    assert kitchen.say(Ask("time")) == [("time_left_two", two), ("timers_more", {"count": 5})]
    kitchen.say(StopTimer("7"))
    kitchen.wait(60)
    assert kitchen.say(Ask("time")) == [("timer_rings", {"timer": "1"}), ("timers_more", {"count": 5})]


def test_of_trays_only_the_next_is_told() -> None:
    kitchen = mixing(1500)
    for _ in range(3):
        kitchen.say(TrayDone())
    assert kitchen.keys(Ask("time")) == ["tray_left"]
    kitchen.say(SetTimer("1", 60))
    assert kitchen.say(Ask("time")) == [
        ("time_left", {"timer": "1", "seconds": 60}),
        ("timers_more", {"count": 1}),
    ]
