"""The rows of the commands: what each asks for, and what it does when it was badly heard."""

from dataclasses import replace

import pytest

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.evolving.transitions import TABLE
from assistant.dough.amounts import Amount
from tests.batch.kitchen import PLANNED, REMEMBERS, Kitchen, at_target, typed

SAID: dict[type[cmd.Command], cmd.Command] = {
    type(one): one
    for one in (
        cmd.NewBatch(Amount(1500)),
        cmd.SameAgain(),
        cmd.SetTarget(31.5),
        cmd.SetLot("12"),
        cmd.UseRecipe("egg"),
        cmd.TellCondition("dough", 25.0),
        cmd.AddWater(Amount(100)),
        cmd.PourRest(),
        cmd.AddFlour(Amount(100)),
        cmd.AddAddition("egg"),
        cmd.LeaveOut("egg"),
        cmd.TookOut(Amount(100)),
        cmd.MakeThat(Amount(1400)),
        cmd.Undo(),
        cmd.JudgeCrumb("ready"),
        cmd.CloseBatch(),
        cmd.DropBatch(),
        cmd.Ask("where"),
        cmd.SayAgain(),
        cmd.Mix(60),
        cmd.Rest(60),
        cmd.PrepRest(600),
        cmd.SetTimer("3", 60),
        cmd.StopTimer("1"),
        cmd.AddTime(60, "1"),
        cmd.GotIt(),
        cmd.Mixer(on=True),
        cmd.MachineQuestion(),
        cmd.Extruding(),
        cmd.NewDie("shells"),
        cmd.DieWarm(),
        cmd.DieClean(),
        cmd.TrayDone(),
        cmd.TrayCold(1),
        cmd.TraysCold(),
        cmd.TrayStored(),
        cmd.Cancel(),
        cmd.Cook("penne"),
        cmd.Cutter("speed", 40),
        cmd.WhoCooks("Ada"),
        cmd.ClockTold(6, 10),
        cmd.CleanDownDone(),
        cmd.Scrap(Amount(40)),
        cmd.Portions(12),
        cmd.Walk("clean down"),
        cmd.WalkMove("done"),
        cmd.Loudness(1),
        cmd.Pace(1),
        cmd.Listening(on=False),
        cmd.Practice(on=True),
        cmd.Print("label"),
        cmd.ZeroJug(),
        cmd.ReadJug(),
        cmd.Calibrate(),
        cmd.GivenAmount(Amount(1000)),
        cmd.GivenTime(600.0),
        cmd.GivenPercent(31.5),
        cmd.GivenCount(12),
        cmd.GivenLot("12"),
        cmd.GivenRecipe("egg"),
        cmd.GivenShape("rigatoni"),
        cmd.GivenTimer("3"),
        cmd.GivenTray("cold"),
        cmd.Together((cmd.Mix(), cmd.Undo())),
        cmd.Answer(yes=True),
        cmd.Incomplete("water", "number"),
    )
}


def in_mid_batch(command: cmd.Command) -> Kitchen:
    """A kitchen in which this command can be carried out."""
    kitchen = Kitchen(known=replace(REMEMBERS, prints=frozenset({"label"})))
    if isinstance(command, cmd.NewBatch):
        return kitchen
    if isinstance(command, cmd.AddAddition | cmd.LeaveOut):
        kitchen.say(cmd.UseRecipe("egg"))
    if isinstance(command, cmd.SameAgain):
        kitchen.say(cmd.NewBatch(typed(1000)))
        kitchen.say(cmd.CloseBatch())
        return kitchen
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.say(cmd.TrayDone())
    kitchen.say(cmd.SetTimer("1", 600))
    if isinstance(command, cmd.WalkMove):
        kitchen.say(cmd.Walk("die change"))
    return kitchen


def test_every_command_is_said_here() -> None:
    assert set(SAID) == set(HANDLERS)


@pytest.mark.parametrize("command", SAID.values(), ids=lambda command: type(command).__name__)
def test_badly_heard_nothing_that_counts_happens_before_a_yes(command: cmd.Command) -> None:
    kitchen = in_mid_batch(command)
    state, known = kitchen.state, len(kitchen.events)
    kitchen.say(command, unsure=True, text="as it was heard")
    new = kitchen.events[known:]
    asked = [event for event in new if isinstance(event, ev.QuestionAsked)]
    if HANDLERS[type(command)].when_unsure == "ask":
        assert [event.command for event in asked] == [command]
    kept = (sh.CutterTold, sh.CookNamed, sh.WalkEnded)
    counts = [e for e in new if TABLE[type(e)].undone is not None or isinstance(e, kept)]
    assert counts == []
    assert kitchen.state.batch == state.batch


@pytest.mark.parametrize("command", SAID.values(), ids=lambda command: type(command).__name__)
def test_without_a_batch_what_needs_one_says_so(command: cmd.Command) -> None:
    said = Kitchen(known=REMEMBERS).keys(command)
    assert (said == ["no_batch"]) is (HANDLERS[type(command)].needs_batch or command == cmd.Ask("where"))


def test_a_badly_heard_got_it_silences_what_rings() -> None:
    kitchen = at_target()
    kitchen.say(cmd.Rest(60))
    kitchen.wait(60)
    assert kitchen.keys(cmd.GotIt(), unsure=True) == ["got_it"]
    assert kitchen.state.ringing == ()


@pytest.mark.parametrize("unsure", [True, False])
@pytest.mark.parametrize("command", [*SAID.values(), cmd.Incomplete("new_batch", "number")], ids=str)
def test_any_command_may_come_into_an_open_question(command: cmd.Command, unsure: bool) -> None:
    for opened in (True, False):
        kitchen = Kitchen(known=replace(REMEMBERS, plan=PLANNED))
        if opened:
            kitchen.say(cmd.NewBatch(typed(1500)))
        kitchen.say(cmd.SetTarget(36))
        asked = kitchen.state.question
        assert asked is not None
        kitchen.say(command, unsure=unsure)
        draft = Draft(kitchen.state, 0, kitchen.rules, kitchen.known)
        stays = HANDLERS[type(command)].beside_a_question(draft, command)
        if stays and command != cmd.Incomplete("new_batch", "number"):
            assert kitchen.state.question == asked
        kitchen.check()
