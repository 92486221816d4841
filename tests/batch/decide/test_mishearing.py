"""The jug and the voice tell of the same pour: one entry."""

import pytest

from assistant.batch.decide.decide import Said
from assistant.batch.decide.making.mishearing import JUG_ERROR_G, SAME_POUR_S
from assistant.batch.record.commands import (
    AddWater,
    Answer,
    Listening,
    MakeThat,
    NewBatch,
    PourRest,
    ReadJug,
    Undo,
    ZeroJug,
)
from assistant.dough.amounts import Amount
from tests.batch.kitchen import Kitchen, Spoken, mixing, typed

YES, NO = Answer(yes=True), Answer(yes=False)


def jug(kitchen: Kitchen, grams: float, *, unsure: bool = False) -> list[Spoken]:
    return kitchen.ask(Said(AddWater(typed(grams)), "jug", "", unsure))


def voice(kitchen: Kitchen, grams: float) -> list[Spoken]:
    return kitchen.say(AddWater(typed(grams)))


def entries(kitchen: Kitchen) -> list[tuple[float, str]]:
    kitchen.check()
    return [(entry.grams, entry.source) for entry in kitchen.batch.entries[1:]]


@pytest.mark.parametrize("off", [0.0, JUG_ERROR_G, -JUG_ERROR_G])
def test_the_jug_agrees_with_the_voice(off: float) -> None:
    kitchen = mixing(1500)
    voice(kitchen, 150)
    kitchen.wait(8)
    assert jug(kitchen, 150 + off) == [("jug_agrees", {"grams": 150})]
    assert entries(kitchen) == [(150, "voice")]


@pytest.mark.parametrize("off", [0.0, JUG_ERROR_G, -JUG_ERROR_G])
def test_the_voice_comes_after_the_jug(off: float) -> None:
    kitchen = mixing(1500)
    assert jug(kitchen, 148)[0] == ("water_in", {"grams": 148})
    kitchen.wait(8)
    assert voice(kitchen, 148 + off) == [("jug_had_it", {"grams": 148})]
    assert entries(kitchen) == [(148, "jug")]


def test_where_they_differ_the_jug_is_right_with_a_yes() -> None:
    kitchen = mixing(1500)
    voice(kitchen, 150)
    assert jug(kitchen, 115) == [("ask_jug_differs", {"grams": 115, "was": 150})]
    assert kitchen.say(YES)[0] == ("corrected", {"grams": 115, "was": 150})
    assert entries(kitchen) == [(115, "voice")]


@pytest.mark.parametrize("answer", [NO, None])
def test_where_they_differ_no_and_silence_keep_the_entry(answer: Answer | None) -> None:
    kitchen = mixing(1500)
    voice(kitchen, 150)
    jug(kitchen, 115)
    assert (kitchen.say(answer) if answer else kitchen.wait(11)) == [("entry_stays", {})]
    assert entries(kitchen) == [(150, "voice")]


def test_where_the_voice_differs_it_is_asked_too() -> None:
    kitchen = mixing(1500)
    jug(kitchen, 115)
    assert voice(kitchen, 150) == [("ask_voice_differs", {"grams": 150, "was": 115})]
    assert kitchen.say(YES)[0] == ("corrected", {"grams": 150, "was": 115})
    assert entries(kitchen) == [(150, "jug")]


def test_an_entry_is_held_against_the_other_source_once() -> None:
    kitchen = mixing(1500)
    voice(kitchen, 100)
    jug(kitchen, 101)
    assert jug(kitchen, 100)[0] == ("water_in", {"grams": 100})
    assert voice(kitchen, 100)[0] == ("jug_had_it", {"grams": 100})
    assert voice(kitchen, 100)[0] == ("water_in", {"grams": 100})
    assert entries(kitchen) == [(100, "voice"), (100, "jug"), (100, "voice")]


def test_what_is_told_later_is_another_pour() -> None:
    kitchen = mixing(1500)
    voice(kitchen, 100)
    kitchen.wait(SAME_POUR_S + 1)
    assert jug(kitchen, 100)[0] == ("water_in", {"grams": 100})
    assert entries(kitchen) == [(100, "voice"), (100, "jug")]


def test_what_stands_between_makes_it_another_pour() -> None:
    kitchen = mixing(1500)
    jug(kitchen, 100)
    kitchen.say(Undo())
    assert voice(kitchen, 100)[0] == ("water_in", {"grams": 100})
    assert entries(kitchen) == [(100, "voice")]


def test_the_rest_is_in_already() -> None:
    kitchen = mixing(1500, 330)
    kitchen.wait(60)
    jug(kitchen, 132)
    assert kitchen.say(PourRest()) == [("jug_had_it", {"grams": 132})]
    assert entries(kitchen) == [(330, "voice"), (132, "jug")]


def test_the_rest_after_a_smaller_pour_is_a_pour() -> None:
    kitchen = mixing(1500, 330)
    kitchen.wait(60)
    jug(kitchen, 100)
    assert kitchen.say(PourRest())[0] == ("water_in", {"grams": 35})


def test_what_the_jug_tells_of_is_in_however_much_it_is() -> None:
    kitchen = mixing(1500)
    assert [key for key, _ in jug(kitchen, 600)] == ["water_in", "rescue_fits"]
    assert entries(kitchen) == [(600, "jug")]


def test_a_pour_that_the_jug_is_not_sure_of_is_asked_about() -> None:
    kitchen = mixing(1500)
    assert jug(kitchen, 350, unsure=True) == [("ask_unsure_amount", {"grams": 350})]
    assert kitchen.say(NO) == [("not_logged", {})]
    assert entries(kitchen) == []


def test_the_jug_settles_whether_it_was_fifteen_or_fifty() -> None:
    kitchen = mixing(1500)
    assert kitchen.say(AddWater(Amount(50)), near=True) == [("ask_twin", {"grams": 50})]
    assert jug(kitchen, 14)[0][0] == "water_in"
    assert entries(kitchen) == [(14, "jug")]


def test_the_jug_counts_while_the_station_does_not_listen() -> None:
    kitchen = mixing(1500)
    kitchen.say(Listening(on=False))
    assert jug(kitchen, 100)[0] == ("water_in", {"grams": 100})


def test_without_a_batch_a_pour_is_none_of_ours() -> None:
    kitchen = Kitchen()
    assert jug(kitchen, 100) == []
    assert kitchen.events == []
    kitchen.say(NewBatch(typed(1500)))
    assert entries(kitchen) == []


def test_a_pour_of_the_jugs_can_be_undone_and_corrected() -> None:
    kitchen = mixing(1500)
    jug(kitchen, 100)
    assert kitchen.say(MakeThat(typed(90)))[0] == ("corrected", {"grams": 90, "was": 100})
    kitchen.say(Undo())
    assert kitchen.say(Undo())[0] == ("undone_water", {"grams": 100})


@pytest.mark.parametrize("command", [ZeroJug(), ReadJug()])
def test_without_a_scale_there_is_none(command: ZeroJug | ReadJug) -> None:
    assert Kitchen().say(command) == [("no_scale", {})]
