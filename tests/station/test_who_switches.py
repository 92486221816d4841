"""What is asked of the machine is answered at any time; it is no "mixer off", and silences nothing."""

from pathlib import Path

import pytest

from assistant.batch.record.commands import GotIt, MachineQuestion, Mixer
from assistant.batch.record.phases import Phase
from assistant.ports import Asking, WordGraph
from assistant.station.loop import hear
from assistant.station.messages import Heard
from tests.devices.scale.scale_kitchen import EMPTY, Kitchen
from tests.station.stand import Stand, grammar, understood

ANSWER = "I switch nothing. You switch off."
QUESTIONS = (
    *("stop the machine", "emergency stop", "machine off", "turn the mixer off", "switch it off"),
    *("stop the motor", "is it safe", "is it off", "is the mixer off"),
    *("can I open it", "can I put my hand in?"),
)


def sentences(graph: WordGraph, state: int = 0) -> set[str]:
    found = {""} if state in graph.final else set[str]()
    for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
        if source == state:
            found |= {f"{word} {rest}".strip() for rest in sentences(graph, target)}
    return found


def test_every_sentence_means_the_question_whatever_is_asked_and_is_none_that_is_told_to_us() -> None:
    graph = grammar().graph_of("machine_question")
    assert graph is not None
    said = sentences(graph)
    assert len(said) > 100
    for asking in Asking:
        assert {grammar().parse(text, asking=asking) for text in said} == {MachineQuestion()}
    for told in ("mixer off", "mixer is off", "mixer stopped", "mixer is stopped"):
        assert told not in said
        assert grammar().parse(told) == Mixer(on=False)
    assert grammar().parse("stop") == GotIt()


def test_a_grammar_without_such_a_rule_has_no_graph_of_it() -> None:
    assert grammar().graph_of("no_such_rule") is None


@pytest.mark.parametrize("text", QUESTIONS)
@pytest.mark.parametrize("unsure", [False, True])
def test_it_is_answered_while_the_mixer_runs_and_nothing_happens(text: str, unsure: bool) -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("mix two minutes")
    state = stand.station.state
    assert stand.say(text, unsure=unsure) == ANSWER
    assert stand.station.state == state
    assert state.phase is Phase.MIXING


@pytest.mark.parametrize("text", QUESTIONS)
def test_what_rings_goes_on_ringing(text: str) -> None:
    stand = Stand()
    stand.say("mix two minutes")
    stand.wait(120)
    assert stand.say(text) == ANSWER
    assert [timer.name for timer in stand.station.state.ringing] == ["mix"]


@pytest.mark.parametrize("text", QUESTIONS)
def test_it_is_answered_with_the_ears_off_and_they_stay_off(text: str) -> None:
    stand = Stand()
    stand.say("ears off")
    assert stand.say(text) == ANSWER
    assert not stand.station.state.listening
    assert stand.say("mixer off") == ""


def test_an_open_question_stays_open_and_lapses_behind_the_answer() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    assert stand.say("water six hundred").endswith("Log it?")
    asked = stand.station.state.question
    assert stand.say("is it safe") == ANSWER
    assert stand.station.state.question == asked
    stand.clock.move(60)
    assert stand.say("is it safe") == ANSWER
    assert stand.station.state.question == asked
    assert [reply.key for turn in stand.wait(0) for reply in turn.replies] == ["lapsed"]


def test_a_question_for_a_value_waits_beside_it() -> None:
    stand = Stand()
    assert stand.say("new batch") == "How much flour?"
    assert stand.say("stop the machine") == ANSWER
    assert stand.say("two kilos").startswith("Batch one:")


def test_a_walk_through_stays_where_it_is() -> None:
    stand = Stand()
    stand.say("die change")
    walk = stand.station.state.walk
    assert stand.say("can I open it") == ANSWER
    assert stand.station.state.walk == walk


def test_a_calibration_goes_on_where_it_was(tmp_path: Path) -> None:
    kitchen = Kitchen(tmp_path)
    assert kitchen.say("set the scale") == EMPTY
    assert kitchen.say("is it off") == ANSWER
    assert kitchen.say("help") == EMPTY


@pytest.mark.parametrize("listening", [True, False])
@pytest.mark.parametrize("asked", [True, False])
def test_one_that_fits_badly_by_voice_is_answered_not_asked_back(listening: bool, asked: bool) -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    if asked:
        stand.say("water six hundred")
    elif not listening:
        stand.say("ears off")
    state = stand.station.state
    for found in (
        understood("stop the machine", near=True, accepted=False),
        understood("stop the machine", margin=0.1),
    ):
        turn = hear(stand.station, Heard(found), 3.0)
        assert turn is not None
        assert [reply.text for reply in turn.replies] == [ANSWER]
    assert stand.station.state == state


def test_mixer_off_before_a_squeeze_is_answered_with_the_caution() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("mix two minutes")
    assert stand.say("mixer off") == "Off and unplugged before you open it, hands clear. Then squeeze."
    assert stand.say("mixer off") == "Off and unplugged before you open it, hands clear. Then squeeze."
    stand.say("crumb dry")
    assert stand.say("mixer off") == "Off and unplugged before you open it, hands clear."


def test_a_mix_that_is_stopped_leaves_the_machine_to_the_cook() -> None:
    stand = Stand()
    stand.say("mix two minutes")
    assert stand.say("stop mix timer") == "Mix timer off. You switch the machine."


def test_a_slip_of_the_keyboard_is_answered_too() -> None:
    stand = Stand()
    turn = stand.station.hear("stop teh machine", source="keyboard")
    assert [reply.text for reply in turn.replies] == [ANSWER]
    refused = stand.station.hear("don't stop teh machine", source="keyboard")
    assert ANSWER not in [reply.text for reply in refused.replies]
