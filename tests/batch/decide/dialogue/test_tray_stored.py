""" "Tray in the fridge" says neither that it was counted nor that it is cold: that is asked."""

import pytest

from assistant.batch.decide.slots import open_slot
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.ports import Asking
from tests.batch.kitchen import Kitchen, Spoken, mixing

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)
BOTH: list[Spoken] = [("ask_tray", {"celsius": 5.0})]


def extruding(trays: int = 1) -> Kitchen:
    kitchen = mixing(1500, 330)
    for _ in range(trays):
        kitchen.say(cmd.TrayDone())
        kitchen.wait(60.0)
    return kitchen


def chilled(kitchen: Kitchen) -> list[int]:
    return [event.tray for event in kitchen.events if isinstance(event, sh.TrayChilled)]


def filled(kitchen: Kitchen) -> list[int]:
    return [event.tray for event in kitchen.events if isinstance(event, ev.TrayFilled)]


def test_with_one_waiting_it_may_be_that_one_or_the_next() -> None:
    kitchen = extruding()
    assert kitchen.say(cmd.TrayStored()) == BOTH
    assert open_slot(kitchen.state, kitchen.now, kitchen.rules) is Asking.TRAY
    assert (filled(kitchen), chilled(kitchen)) == ([1], [])


def test_full_counts_it() -> None:
    kitchen = extruding()
    kitchen.say(cmd.TrayStored())
    assert kitchen.say(cmd.GivenTray("full")) == [("tray_filled", {"tray": 2})]
    assert (filled(kitchen), chilled(kitchen)) == ([1, 2], [])
    kitchen.check()


def test_at_five_degrees_ends_the_clock_of_the_one_that_waits_longest() -> None:
    kitchen = extruding(2)
    kitchen.say(cmd.TrayStored())
    assert kitchen.keys(cmd.GivenTray("cold")) == ["tray_cold"]
    assert (filled(kitchen), chilled(kitchen)) == ([1, 2], [1])


@pytest.mark.parametrize("command", [cmd.TrayDone(), cmd.TrayCold()], ids=["full", "cold"])
def test_the_whole_command_answers_too(command: cmd.Command) -> None:
    kitchen = extruding()
    kitchen.say(cmd.TrayStored())
    kitchen.say(command)
    assert len(filled(kitchen)) + len(chilled(kitchen)) == 2
    assert kitchen.state.question is None


@pytest.mark.parametrize("answer", [YES, cmd.Ask("help")], ids=["yes", "help"])
def test_yes_says_neither_and_is_asked_again(answer: cmd.Command) -> None:
    kitchen = extruding()
    kitchen.say(cmd.TrayStored())
    assert kitchen.say(answer) == BOTH
    assert (filled(kitchen), chilled(kitchen)) == ([1], [])


@pytest.mark.parametrize("answer", [NO, None], ids=["no", "silence"])
def test_no_and_silence_log_nothing_and_say_so(answer: cmd.Command | None) -> None:
    kitchen = extruding()
    kitchen.say(cmd.TrayStored())
    said = kitchen.wait(10.0) if answer is None else kitchen.say(answer)
    assert said == [("lapsed" if answer is None else "not_logged", {})]
    assert (filled(kitchen), chilled(kitchen)) == ([1], [])


def test_with_none_waiting_it_can_only_be_a_full_one() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(cmd.TrayStored()) == [("ask_tray_full", {"tray": 1})]
    kitchen.say(YES)
    assert filled(kitchen) == [1]


def test_of_one_that_is_counted_it_is_only_asked_if_it_is_cold() -> None:
    kitchen = extruding(2)
    assert kitchen.say(cmd.TrayStored(1)) == [("ask_tray_cold", {"tray": 1, "celsius": 5.0})]
    kitchen.say(NO)
    assert chilled(kitchen) == []
    kitchen.say(cmd.TrayStored(1))
    kitchen.say(YES)
    assert chilled(kitchen) == [1]


def test_without_a_batch_too() -> None:
    kitchen = extruding()
    kitchen.say(cmd.CloseBatch())
    kitchen.say(YES)
    assert kitchen.say(cmd.TrayStored()) == [("ask_tray_cold", {"tray": 1, "celsius": 5.0})]


def test_of_a_tray_that_there_is_not() -> None:
    assert Kitchen().keys(cmd.TrayStored()) == ["tray_unknown"]
    assert extruding().keys(cmd.TrayStored(7)) == ["tray_unknown"]


def test_what_changed_meanwhile_counts() -> None:
    """The tray that waits is said to be cold, after another said so: no clock of it runs any more."""
    kitchen = Kitchen()
    assert kitchen.keys(cmd.TrayStored(state="full")) == ["no_batch"]
    assert kitchen.keys(cmd.TrayStored(state="cold")) == ["tray_unknown"]
