"""Bare values: they answer what was asked, and correct what was just read back."""

import json

import pytest

from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.decide.slots import GIVEN, READ_BACK, open_slot
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.evolving.transitions import TABLE
from assistant.batch.record.rules import BatchRules
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.ports import Asking
from tests.batch.kitchen import REMEMBERS, Kitchen, grams, typed

QUESTION_S = BatchRules().question_s


def slot(kitchen: Kitchen) -> Asking:
    return open_slot(kitchen.state, kitchen.now, kitchen.rules)


def kitchen_with(*commands: cmd.Command) -> Kitchen:
    kitchen = Kitchen(known=REMEMBERS)
    for command in commands:
        kitchen.say(command)
    return kitchen


def opened(*commands: cmd.Command) -> Kitchen:
    return kitchen_with(cmd.NewBatch(typed(1500)), *commands)


def missing(command: str, **given: str) -> cmd.Incomplete:
    return cmd.Incomplete(command, "number", tuple(given.items()))


# ---- what is asked for is answered by the value alone


@pytest.mark.parametrize(
    ("begun", "given", "event"),
    [
        (missing("new_batch"), cmd.GivenAmount(Amount(2, "kg")), ev.BatchOpened),
        (missing("target"), cmd.GivenPercent(31.5), ev.TargetSet),
        (missing("lot"), cmd.GivenLot("12"), ev.LotNamed),
        (missing("recipe"), cmd.GivenRecipe("egg"), ev.RecipeChosen),
        (missing("mix"), cmd.GivenTime(90.0), ev.MixStarted),
        (missing("rest"), cmd.GivenTime(300.0), ev.RestStarted),
        (missing("timer", name="3"), cmd.GivenTime(600.0), ev.TimerSet),
        (cmd.Incomplete("timer", "unit", (("name", "3"),)), cmd.GivenTime(600.0), ev.TimerSet),
    ],
    ids=lambda value: getattr(value, "command", None) or getattr(value, "__name__", type(value).__name__),
)
def test_a_question_for_a_value_takes_the_bare_value(
    begun: cmd.Incomplete, given: cmd.Command, event: type[ev.Event]
) -> None:
    kitchen = Kitchen(known=REMEMBERS)
    assert kitchen.say(begun)[0][0] in ("number_missing", "unit_unfit")
    assert slot(kitchen) is GIVEN[type(given)]
    kitchen.say(given)
    assert kitchen.state.question is None
    assert type(kitchen.events[-1]) is event


@pytest.mark.parametrize(
    ("begun", "given", "event"),
    [
        (missing("water"), cmd.GivenAmount(typed(150)), ev.WaterAdded),
        (missing("flour"), cmd.GivenAmount(typed(100)), ev.FlourAdded),
        (missing("scrap"), cmd.GivenAmount(typed(40)), ev.ScrapWeighed),
        (missing("make_that"), cmd.GivenAmount(typed(1600)), ev.EntryCorrected),
        (missing("new_die"), cmd.GivenShape("rigatoni"), ev.DieNamed),
        (missing("portions"), cmd.GivenCount(4), ev.PortionsCounted),
    ],
    ids=lambda value: getattr(value, "command", None) or getattr(value, "__name__", type(value).__name__),
)
def test_in_a_batch_too(begun: cmd.Incomplete, given: cmd.Command, event: type[ev.Event]) -> None:
    kitchen = opened()
    assert [key for key, _ in kitchen.say(begun)] == ["number_missing"]
    assert slot(kitchen) is GIVEN[type(given)]
    kitchen.say(given)
    assert kitchen.state.question is None
    assert event in [type(one) for one in kitchen.events[-2:]]


def test_which_timer_is_answered_by_its_name() -> None:
    kitchen = kitchen_with(cmd.SetTimer("2", 60.0), cmd.SetTimer("sauce", 600.0))
    assert kitchen.keys(cmd.StopTimer()) == ["timer_which"]
    assert slot(kitchen) is Asking.TIMER
    assert kitchen.say(cmd.GivenTimer("sauce")) == [("timer_stopped", {"timer": "sauce"})]
    assert [timer.name for timer in kitchen.state.timers] == ["2"]


def test_a_timer_that_was_not_named_is_timer_one() -> None:
    kitchen = kitchen_with(missing("timer"))
    assert kitchen.say(cmd.GivenTime(600.0)) == [("timer_set", {"timer": "1", "seconds": 600})]


def test_a_value_of_another_kind_leaves_the_question_open() -> None:
    kitchen = kitchen_with(missing("new_batch"))
    assert kitchen.say(cmd.GivenTime(600.0)) == []
    assert kitchen.state.question is not None


def test_the_question_is_said_again_for_a_yes_and_ends_with_a_no() -> None:
    kitchen = kitchen_with(missing("lot"))
    assert kitchen.say(cmd.Answer(yes=True)) == [("number_missing", {"command": "lot"})]
    assert kitchen.say(cmd.Ask("help")) == [("number_missing", {"command": "lot"})]
    assert kitchen.keys(cmd.Answer(yes=False)) == ["not_logged"]
    assert kitchen.say(cmd.GivenLot("12")) == []


def test_it_lapses_without_a_word() -> None:
    kitchen = kitchen_with(missing("lot"))
    kitchen.heard.clear()
    kitchen.wait(QUESTION_S + 1)
    assert kitchen.heard == []
    assert kitchen.say(cmd.GivenLot("12")) == []
    assert kitchen.state.next_lot is None


def test_another_command_goes_on_without_a_word_about_the_value() -> None:
    kitchen = opened(missing("water"))
    assert kitchen.keys(cmd.Mix(60.0)) == ["mixing_for"]
    assert kitchen.state.question is None


def test_a_value_badly_heard_is_asked_about() -> None:
    kitchen = opened(missing("water"))
    assert kitchen.keys(cmd.GivenAmount(grams(150)), unsure=True) == ["ask_unsure_amount"]
    assert kitchen.keys(cmd.Answer(yes=True))[0] == "water_in"


def test_a_sentence_that_is_badly_heard_does_not_close_a_question() -> None:
    kitchen = opened(cmd.AddWater(typed(600)))
    assert kitchen.say(missing("lot"), unsure=True) == []
    assert kitchen.keys(cmd.Answer(yes=True))[0] == "water_in"


# ---- a question about a value takes the value, its twin, or another


def asked_fifty() -> Kitchen:
    kitchen = opened()
    assert kitchen.keys(cmd.AddWater(grams(50)), unsure=True)[0] in ("ask_twin", "ask_unsure_amount")
    assert slot(kitchen) is Asking.AMOUNT
    return kitchen


@pytest.mark.parametrize("said", [50.0, 15.0, 80.0])
def test_a_question_about_a_number_takes_a_number(said: float) -> None:
    kitchen = asked_fifty()
    kitchen.say(cmd.GivenAmount(grams(said)))
    assert kitchen.state.question is None
    assert kitchen.batch.water_g == said


def test_the_twin_said_instead_is_not_asked_about_again() -> None:
    kitchen = asked_fifty()
    assert kitchen.say(cmd.GivenAmount(grams(15)))[0] == ("water_in_twice", {"grams": 15})


def test_past_high_is_asked_about_whatever_the_number_answered() -> None:
    kitchen = asked_fifty()
    assert kitchen.keys(cmd.GivenAmount(grams(600))) == ["ask_past_high"]
    assert kitchen.batch.water_g == 0


# ---- what was read back is corrected by the value alone


@pytest.mark.parametrize(
    ("said", "given", "after"),
    [
        (cmd.AddWater(typed(150)), cmd.GivenAmount(grams(130)), lambda s: s.batch.water_g == 130),
        (cmd.AddFlour(typed(100)), cmd.GivenAmount(typed(200)), lambda s: s.batch.flour_g == 1700),
        (cmd.Scrap(typed(40)), cmd.GivenAmount(typed(60)), lambda s: s.batch.scrap_g == 60),
        (cmd.SetTarget(31.5), cmd.GivenPercent(32.0), lambda s: s.batch.target_pct == 32),
        (cmd.SetLot("12"), cmd.GivenLot("7"), lambda s: s.batch.lot == "7"),
        (cmd.Mix(120.0), cmd.GivenTime(180.0), lambda s: s.timer("mix").seconds == 180),
        (cmd.Rest(300.0), cmd.GivenTime(360.0), lambda s: s.timer("rest").seconds == 360),
        (cmd.SetTimer("2", 60.0), cmd.GivenTime(90.0), lambda s: s.timer("2").seconds == 90),
        (cmd.NewDie("rigatoni"), cmd.GivenShape("penne"), lambda s: s.batch.die == "penne"),
        (cmd.Portions(4), cmd.GivenCount(3), lambda s: s.batch.portions == 3),
    ],
    ids=lambda value: type(value).__name__,
)
def test_a_bare_value_corrects_what_was_read_back(said, given, after) -> None:  # type: ignore[no-untyped-def]
    kitchen = opened(said)
    kitchen.now += 4
    assert slot(kitchen) is GIVEN[type(given)]
    assert kitchen.say(given) != []
    assert after(kitchen.state)
    kitchen.check()


def test_more_time_is_corrected_and_not_added_twice() -> None:
    kitchen = kitchen_with(cmd.SetTimer("2", 600.0), cmd.AddTime(120.0))
    kitchen.say(cmd.GivenTime(180.0))
    (timer,) = kitchen.state.timers
    assert timer.remaining_s(kitchen.now) == 780


def test_a_recipe_is_corrected() -> None:
    kitchen = kitchen_with(cmd.UseRecipe("egg"))
    kitchen.say(cmd.GivenRecipe("wholegrain"))
    assert kitchen.state.next_plan is not None
    assert kitchen.state.next_plan.recipe == "wholegrain"


def test_the_window_closes() -> None:
    kitchen = opened(cmd.AddWater(typed(150)))
    kitchen.now += QUESTION_S + 0.5
    assert slot(kitchen) is Asking.NOTHING
    assert kitchen.say(cmd.GivenAmount(grams(130))) == []
    assert kitchen.batch.water_g == 150


def test_a_step_without_a_value_closes_it_too() -> None:
    kitchen = opened(cmd.AddWater(typed(465)), cmd.JudgeCrumb("ready"))
    assert kitchen.say(cmd.GivenAmount(grams(130))) == []


def test_the_same_value_is_said_back_and_changes_nothing() -> None:
    kitchen = opened(cmd.AddWater(typed(150)))
    events = len(kitchen.events)
    assert kitchen.say(cmd.GivenAmount(grams(150))) == [("say_again", {})]
    assert len(kitchen.events) == events


def test_what_can_not_be_meant_leaves_what_was_there() -> None:
    kitchen = opened(cmd.Rest(300.0))
    assert kitchen.keys(cmd.GivenTime(1e6)) == ["time_too_long"]
    rest = kitchen.state.timer("rest")
    assert rest is not None
    assert rest.seconds == 300


def test_after_a_start_of_the_station_nothing_is_corrected_by_a_stray_number() -> None:
    kitchen = opened(cmd.AddWater(typed(150)))
    kitchen.restart(off=3600.0)
    assert slot(kitchen) is Asking.NOTHING


# ---- every table is whole


def test_every_slot_has_its_bare_value() -> None:
    slots = {row.slot.asking for row in HANDLERS.values() if row.slot is not None}
    assert slots == set(GIVEN.values())


def test_what_is_corrected_can_be_taken_back() -> None:
    undoable = {kind.__name__ for kind, row in TABLE.items() if row.undone is not None}
    assert set(READ_BACK) <= undoable


def test_whatever_can_be_said_without_its_value_has_a_slot_for_it() -> None:
    """No question is a dead end: each is answered by one bare value."""
    rows = grammar_folder() / "examples.txt"
    meanings = [line.partition(" => ")[2] for line in rows.read_text(encoding="utf-8").splitlines()]
    begun = [json.loads(meaning) for meaning in meanings if meaning.startswith('{"name": "incomplete"')]
    commands = {one["command"] for one in begun}
    assert len(commands) > 10
    assert [name for name in sorted(commands) if HANDLERS[cmd.COMMANDS[name]].slot is None] == []


@pytest.mark.parametrize("kind", [cmd.AddFlour, cmd.AddWater])
def test_what_is_said_to_be_in_answers_how_much_flour(kind: type[cmd.AddFlour | cmd.AddWater]) -> None:
    """ "Two kilos of flour", "two kilos in there": nothing else can be in before there is a batch."""
    kitchen = Kitchen()
    kitchen.say(cmd.Incomplete("new_batch", "number"))
    kitchen.say(kind(Amount(2, "kg")))
    assert kitchen.batch.flour_g == 2000
    assert kitchen.state.question is None
