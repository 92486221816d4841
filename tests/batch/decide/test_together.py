"""Two commands in one breath: one after the other, and what is asked about holds up the rest."""

import pytest

from assistant.batch.decide.decide import Said
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.dough.amounts import Amount
from tests.batch.kitchen import REMEMBERS, Kitchen, grams, typed


def together(*commands: cmd.Command) -> cmd.Together:
    return cmd.Together(commands)


def test_both_are_carried_out_in_their_order() -> None:
    kitchen = Kitchen(known=REMEMBERS)
    keys = kitchen.keys(together(cmd.SetLot("12"), cmd.NewBatch(typed(1500))))
    assert keys.index("lot_likely") < keys.index("batch_opened")
    assert kitchen.batch.lot == "12"


@pytest.fixture
def pouring() -> Kitchen:
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.NewBatch(typed(1500)))
    return kitchen


def test_a_pour_and_the_mix(pouring: Kitchen) -> None:
    assert pouring.keys(together(cmd.AddWater(typed(330)), cmd.Mix()))[-1] == "mixing_for"
    assert pouring.batch.water_g == 330


def test_what_is_asked_about_holds_up_the_rest(pouring: Kitchen) -> None:
    assert pouring.keys(together(cmd.AddWater(typed(600)), cmd.Mix(60.0))) == ["ask_past_high"]
    assert pouring.state.timers == ()
    assert pouring.keys(cmd.Answer(yes=True))[-1] == "mixing_for"
    assert pouring.batch.water_g == 600


def test_a_no_forgets_both(pouring: Kitchen) -> None:
    pouring.say(together(cmd.AddWater(typed(600)), cmd.Mix(60.0)))
    assert pouring.keys(cmd.Answer(yes=False)) == ["not_logged"]
    assert (pouring.batch.water_g, pouring.state.timers) == (0, ())


def test_another_amount_takes_the_place_of_the_one_asked_about(pouring: Kitchen) -> None:
    pouring.say(together(cmd.AddWater(typed(600)), cmd.Mix(60.0)))
    assert pouring.keys(cmd.GivenAmount(typed(300)))[-1] == "mixing_for"
    assert pouring.batch.water_g == 300


def test_a_value_that_lacks_holds_up_the_rest(pouring: Kitchen) -> None:
    assert pouring.keys(together(cmd.Incomplete("water", "number"), cmd.Mix(60.0))) == ["number_missing"]
    assert pouring.keys(cmd.GivenAmount(typed(300)))[-1] == "mixing_for"


def test_where_the_first_comes_to_nothing_the_second_does_too() -> None:
    kitchen = Kitchen(known=REMEMBERS)
    assert kitchen.keys(together(cmd.AddWater(typed(150)), cmd.Mix(60.0))) == ["no_batch"]
    assert kitchen.state.timers == ()


def test_badly_heard_it_is_asked_about_once_and_then_each_for_itself(pouring: Kitchen) -> None:
    said = together(cmd.AddWater(grams(600)), cmd.Mix(60.0))
    heard = pouring.say(said, unsure=True, text="water six hundred and mix")
    assert heard == [("ask_unsure", {"said": "water six hundred and mix"})]
    assert pouring.keys(cmd.Answer(yes=True)) == ["ask_past_high"]
    assert pouring.keys(cmd.Answer(yes=True))[-1] == "mixing_for"


def test_where_jug_and_voice_differ_a_no_goes_on_with_the_rest(pouring: Kitchen) -> None:
    pouring.ask(Said(cmd.AddWater(Amount(140, exact=True)), "jug"))
    assert pouring.keys(together(cmd.AddWater(Amount(200, exact=True)), cmd.Mix(60.0))) == [
        "ask_voice_differs"
    ]
    assert pouring.keys(cmd.Answer(yes=False)) == ["entry_stays", "mixing_for"]
    assert pouring.batch.water_g == 140


def test_the_question_holds_both_in_the_journal(pouring: Kitchen) -> None:
    pouring.say(together(cmd.AddWater(typed(600)), cmd.Mix(60.0)))
    asked = pouring.events[-1]
    assert isinstance(asked, ev.QuestionAsked)
    assert asked.command == together(cmd.AddWater(typed(600)), cmd.Mix(60.0))


def test_a_second_question_takes_its_turn(pouring: Kitchen) -> None:
    said = together(cmd.AddWater(typed(600)), cmd.AddWater(typed(600)))
    assert pouring.keys(said) == ["ask_past_high"]
    assert pouring.keys(cmd.Answer(yes=True))[-1] == "ask_past_high"
    assert pouring.batch.water_g == 600
