"""A bare "no" to what was just read back: it is asked what was meant, and a value says it."""

import pytest

from assistant.batch.decide.decide import Said
from assistant.batch.decide.slots import GIVEN, READ_BACK, open_slot
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.rules import BatchRules
from assistant.config.resources import grammar_folder
from assistant.nlu import load_grammar
from assistant.ports import Asking
from tests.batch.kitchen import REMEMBERS, Kitchen, Spoken, mixing, typed

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)
STAYS: list[Spoken] = [("entry_stays", {})]


def asks(command: str) -> list[Spoken]:
    return [("what_then", {"command": command})]


def opened(*commands: cmd.Command) -> Kitchen:
    kitchen = Kitchen(known=REMEMBERS)
    for command in (cmd.NewBatch(typed(1500)), *commands):
        kitchen.say(command)
    return kitchen


ROWS: list[tuple[list[cmd.Command], str, cmd.Command, str, object]] = [
    ([], "new_batch", cmd.GivenAmount(typed(1600)), "flour_g", 1600.0),
    ([cmd.AddWater(typed(150))], "water", cmd.GivenAmount(typed(130)), "water_g", 130.0),
    ([cmd.AddFlour(typed(100))], "flour", cmd.GivenAmount(typed(50)), "flour_g", 1550.0),
    (
        [cmd.AddWater(typed(300)), cmd.TookOut(typed(100), "water")],
        "took_out",
        cmd.GivenAmount(typed(50)),
        "water_g",
        250.0,
    ),
    ([cmd.Scrap(typed(40))], "scrap", cmd.GivenAmount(typed(60)), "scrap_g", 60.0),
    (
        [cmd.AddWater(typed(150)), cmd.MakeThat(typed(160))],
        "make_that",
        cmd.GivenAmount(typed(170)),
        "water_g",
        170.0,
    ),
    ([cmd.SetTarget(31.0)], "target", cmd.GivenPercent(30.5), "target_pct", 30.5),
    ([cmd.SetLot("12")], "lot", cmd.GivenLot("7"), "lot", "7"),
    ([cmd.NewDie("rigatoni")], "new_die", cmd.GivenShape("penne"), "die", "penne"),
    ([cmd.Portions(4)], "portions", cmd.GivenCount(5), "portions", 5),
]


@pytest.mark.parametrize(("said", "asked", "given", "field", "value"), ROWS, ids=[row[1] for row in ROWS])
def test_no_asks_what_was_meant_and_the_bare_value_says_it(
    said: list[cmd.Command], asked: str, given: cmd.Command, field: str, value: object
) -> None:
    kitchen = opened(*said)
    before = kitchen.batch
    assert kitchen.say(NO) == asks(asked)
    assert kitchen.batch == before
    assert open_slot(kitchen.state, kitchen.now, kitchen.rules) is GIVEN[type(given)]
    kitchen.say(given)
    assert getattr(kitchen.batch, field) == value
    assert kitchen.state.question is None
    kitchen.check()


def test_of_an_addition_too() -> None:
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.UseRecipe("egg"))
    kitchen.say(cmd.NewBatch(typed(1000)))
    kitchen.say(cmd.AddAddition("egg", typed(210)))
    assert kitchen.say(NO) == asks("addition")
    kitchen.say(cmd.AddAddition("egg", typed(190)))
    assert [one.grams for one in kitchen.batch.additions] == [190]


def test_of_a_recipe_too() -> None:
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.UseRecipe("egg"))
    assert kitchen.say(NO) == asks("recipe")
    kitchen.say(cmd.GivenRecipe("wholegrain"))
    assert kitchen.state.next_plan is not None
    assert kitchen.state.next_plan.recipe == "wholegrain"


@pytest.mark.parametrize(
    ("said", "asked", "left"),
    [
        (cmd.Mix(120.0), "mix", [300, 600]),
        (cmd.Rest(120.0), "rest", [300, 600]),
        (cmd.SetTimer("3", 120.0), "timer", [300, 600]),
        (cmd.AddTime(120.0, "sauce"), "add_time", [900]),
    ],
    ids=["mix", "rest", "timer", "add_time"],
)
def test_of_a_time_too(said: cmd.Command, asked: str, left: list[int]) -> None:
    kitchen = opened(cmd.SetTimer("sauce", 600.0), said)
    assert kitchen.say(NO) == asks(asked)
    kitchen.say(cmd.GivenTime(300.0))
    assert sorted(timer.remaining_s(0.0) for timer in kitchen.state.timers) == left


def test_every_read_back_is_tried_here() -> None:
    """Each row's question has words of its own or the common ones, and each is in a test above."""
    tried = {row[1] for row in ROWS} | {"addition", "recipe", "mix", "rest", "timer", "add_time"}
    assert {row.says for row in READ_BACK.values()} == tried


def test_silence_leaves_it_and_says_so() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.wait(BatchRules().question_s) == STAYS
    assert kitchen.batch.water_g == 150


def test_a_second_no_leaves_it() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.say(NO) == STAYS
    assert kitchen.batch.water_g == 150
    assert kitchen.state.question is None


def test_the_same_value_leaves_it() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.say(cmd.GivenAmount(typed(150))) == STAYS
    assert not any(isinstance(event, ev.EntryCorrected) for event in kitchen.events)


def test_undo_takes_it_back() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.keys(cmd.Undo())[0] == "undone_water"
    assert kitchen.batch.water_g == 0


@pytest.mark.parametrize("command", [YES, cmd.Ask("help")], ids=["yes", "help"])
def test_yes_and_help_say_the_question_again(command: cmd.Command) -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.say(command) == asks("water")
    assert kitchen.state.question is not None


def test_the_command_said_again_corrects_and_what_follows_is_carried_out() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.keys(cmd.Together((cmd.AddWater(typed(130)), cmd.Mix(60.0))))[0] == "corrected"
    assert [entry.grams for entry in kitchen.batch.entries] == [1500, 130]
    assert kitchen.state.timer("mix") is not None


def test_another_entry_takes_its_place() -> None:
    """ "One fifty in." - "No." - "How much, then?" - "Flour, one fifty": it was no water."""
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.keys(cmd.AddFlour(typed(150)))[:2] == ["undone_water", "flour_in"]
    assert (kitchen.batch.flour_g, kitchen.batch.water_g) == (1650, 0)


def test_another_time_takes_the_place_of_the_first() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.SetTimer("4", 600.0))
    kitchen.say(NO)
    kitchen.say(cmd.SetTimer("3", 600.0))
    assert [timer.name for timer in kitchen.state.timers] == ["3"]


def test_a_cook_who_goes_on_hears_that_it_stays() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.keys(cmd.Mix(60.0)) == ["entry_stays", "mixing_for"]
    assert kitchen.batch.water_g == 150


def test_what_the_jug_says_meanwhile_is_no_answer() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    found = kitchen.ask(Said(cmd.AddWater(typed(80)), source="jug"))
    assert found == [("ask_jug_differs", {"grams": 80, "was": 150})]
    assert kitchen.batch.water_g == 150


def test_a_correction_that_can_not_be_meant_leaves_it() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(NO)
    assert kitchen.keys(cmd.GivenAmount(typed(0))) == ["amount_zero"]
    assert kitchen.batch.water_g == 150


def test_a_time_badly_heard_is_asked_for_again() -> None:
    """What was read back would be taken back for it."""
    kitchen = opened(cmd.Rest(120.0))
    kitchen.say(NO)
    assert kitchen.say(cmd.GivenTime(300.0), unsure=True) == asks("rest")
    assert kitchen.state.question is not None


def test_no_is_talk_once_the_read_back_is_old() -> None:
    kitchen = mixing(1500, 150)
    kitchen.wait(BatchRules().question_s + 1)
    assert kitchen.say(NO) == []


@pytest.mark.parametrize("text", ["no", "no no", "nope", "not that", "wrong", "no that's wrong", "no wait"])
def test_ways_to_say_no(text: str) -> None:
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    assert grammar.parse(text, asking=Asking.AMOUNT) == NO
