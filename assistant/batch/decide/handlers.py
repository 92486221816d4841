"""Who carries out a command, and under which conditions: one row per command."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from assistant.batch.decide import answers, printing, station_commands, walks
from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making import account, after_the_die, again, crumb, flour, hopper, press
from assistant.batch.decide.timing import restarting, timers
from assistant.batch.record import commands as cmd
from assistant.batch.record.state import State
from assistant.ports import Asking


def _nothing(_d: Draft, _command: cmd.Command) -> None:
    """It means nothing by itself."""


def _never(_state: State) -> bool:
    return False


def _always(_state: State) -> bool:
    return True


def _no(_d: Draft, _command: cmd.Command) -> bool:
    return False


def _yes(_d: Draft, _command: cmd.Command) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Slot:
    """The value of a command: asked for where it is missing, replaced by a bare value."""

    field: str
    asking: Asking
    """What is listened for while it is open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Handler:
    """How a command is carried out. Its conditions are looked at in the order of the fields."""

    act: Callable[[Draft, Any], None]
    """Carries it out."""
    is_talk: Callable[[State], bool] = _never
    """Whether it means nothing in this state, and is left alone."""
    beside_a_question: Callable[[Draft, Any], bool] = _no
    """Whether an open question stays open beside it; any other command closes it."""
    needs_batch: bool = False
    """Whether an open batch is needed. Without one it says so; what the jug reports is left alone."""
    answered: Callable[[Draft, Any], bool] | None = None
    """Says at once that it can't be carried out, or need not be; false where it can."""
    when_unsure: Literal["ask", "act", "own"] = "ask"
    """Heard badly it is asked about first; or carried out, for it changes nothing that matters; or `act` asks
    in its own words, among its other questions."""
    always: bool = False
    """Whether it is answered before all else: with listening off, and however badly it was heard."""
    slot: Slot | None = None
    """Its value; None: it has none that could be said alone."""


_AMOUNT = Slot("amount", Asking.AMOUNT)
_SECONDS = Slot("seconds", Asking.TIME)
_SHAPE = Slot("name", Asking.SHAPE)
_NO_COMMAND_OF_ITS_OWN = Handler(act=_nothing, is_talk=_always, when_unsure="act")

HANDLERS: dict[type[cmd.Command], Handler] = {
    # the account
    cmd.NewBatch: Handler(slot=Slot("flour", Asking.AMOUNT), act=account.open_batch, when_unsure="own"),
    cmd.SameAgain: Handler(act=again.same_again, answered=again.no_batch_to_repeat),
    cmd.Incomplete: Handler(act=account.complete, beside_a_question=lambda d, _: d.unsure, when_unsure="own"),
    cmd.SetTarget: Handler(slot=Slot("percent", Asking.PERCENT), act=account.set_target, when_unsure="own"),
    cmd.AddWater: Handler(slot=_AMOUNT, act=account.add_water, needs_batch=True, when_unsure="own"),
    cmd.PourRest: Handler(act=account.pour_rest, needs_batch=True, when_unsure="own"),
    cmd.AddFlour: Handler(slot=_AMOUNT, act=account.add_flour, when_unsure="own"),
    cmd.AddAddition: Handler(
        slot=_AMOUNT,
        act=hopper.add_addition,
        needs_batch=True,
        answered=hopper.not_in_this_recipe,
        when_unsure="own",
    ),
    cmd.LeaveOut: Handler(
        act=hopper.leave_out,
        # "No egg today" is of the menu then.
        is_talk=lambda state: state.batch is None,
        answered=hopper.not_in_this_recipe,
    ),
    cmd.TookOut: Handler(slot=_AMOUNT, act=hopper.take_out, needs_batch=True, when_unsure="own"),
    cmd.Scrap: Handler(slot=_AMOUNT, act=account.weigh_scrap, needs_batch=True, when_unsure="own"),
    cmd.MakeThat: Handler(slot=_AMOUNT, act=account.correct, needs_batch=True, when_unsure="own"),
    cmd.Undo: Handler(act=station_commands.undo, answered=station_commands.nothing_to_undo),
    # the flour
    cmd.SetLot: Handler(slot=Slot("lot", Asking.LOT), act=flour.name_lot, when_unsure="own"),
    cmd.UseRecipe: Handler(
        slot=Slot("recipe", Asking.RECIPE), act=flour.use_recipe, answered=flour.no_such_recipe
    ),
    cmd.TellCondition: Handler(
        act=flour.note_condition, needs_batch=True, answered=flour.impossible_condition
    ),
    # the crumb and the end
    cmd.JudgeCrumb: Handler(act=crumb.judge, needs_batch=True, when_unsure="own"),
    cmd.Extruding: Handler(act=crumb.extrude, needs_batch=True),
    cmd.CloseBatch: Handler(act=crumb.close, needs_batch=True, when_unsure="own"),
    cmd.DropBatch: Handler(act=crumb.close, needs_batch=True, when_unsure="own"),
    # time
    cmd.Mix: Handler(slot=_SECONDS, act=timers.start_mix),
    cmd.Rest: Handler(slot=_SECONDS, act=timers.start_rest),
    cmd.PrepRest: Handler(slot=_SECONDS, act=timers.start_prep_rest),
    cmd.Mixer: Handler(act=timers.mixer),
    cmd.MachineQuestion: Handler(
        act=station_commands.say_who_switches, beside_a_question=_yes, when_unsure="act", always=True
    ),
    cmd.SetTimer: Handler(slot=_SECONDS, act=timers.set_timer),
    cmd.StopTimer: Handler(slot=Slot("name", Asking.TIMER), act=timers.stop_timer),
    cmd.AddTime: Handler(slot=_SECONDS, act=timers.add_time),
    # A ring that stops too soon was heard by somebody, and its next step stays what it was. One that asks
    # whether it may stop is a ring with a question on top: nothing may be spoken into that, and the cook
    # pulls the plug.
    cmd.GotIt: Handler(act=timers.got_it, beside_a_question=_yes, when_unsure="act"),
    # the die and after it
    cmd.NewDie: Handler(slot=_SHAPE, act=after_the_die.name_die, needs_batch=True),
    cmd.DieWarm: Handler(act=after_the_die.warm_die, needs_batch=True),
    cmd.DieClean: Handler(act=press.note_die_cleaned),
    cmd.Cutter: Handler(act=after_the_die.set_cutter, answered=after_the_die.no_cutter_yet),
    cmd.TrayDone: Handler(act=after_the_die.fill_tray, needs_batch=True),
    cmd.TrayStored: Handler(slot=Slot("state", Asking.TRAY), act=after_the_die.store_tray, when_unsure="own"),
    cmd.TrayCold: Handler(act=after_the_die.chill_tray, answered=after_the_die.no_such_tray),
    cmd.TraysCold: Handler(act=after_the_die.chill_trays, answered=after_the_die.no_tray),
    cmd.Portions: Handler(
        slot=Slot("count", Asking.COUNT),
        act=after_the_die.count_portions,
        needs_batch=True,
        when_unsure="own",
    ),
    cmd.Cook: Handler(slot=_SHAPE, act=after_the_die.cook),
    # walk-throughs
    cmd.Walk: Handler(act=walks.begin, answered=walks.no_walk_to_begin),
    cmd.CleanDownDone: Handler(act=walks.note_clean_down, answered=walks.is_at_clean_down),
    cmd.WalkMove: Handler(act=walks.move, is_talk=lambda state: state.walk is None),
    # Becomes the no, the move or the undo that it means, where it means one.
    cmd.Cancel: Handler(act=station_commands.say_what_can_be_cancelled, when_unsure="act"),
    # asking
    cmd.Ask: Handler(act=answers.answer, beside_a_question=_yes, when_unsure="act"),
    cmd.SayAgain: Handler(act=station_commands.say_again, beside_a_question=_yes, when_unsure="act"),
    # the station
    cmd.ClockTold: Handler(
        act=restarting.tell_time,
        answered=restarting.time_is_known,
        beside_a_question=restarting.time_is_known,
        when_unsure="own",
    ),
    cmd.WhoCooks: Handler(act=station_commands.name_cook, answered=station_commands.who_cooks),
    cmd.Loudness: Handler(act=station_commands.adjust_voice, beside_a_question=_yes, when_unsure="act"),
    cmd.Pace: Handler(act=station_commands.adjust_voice, beside_a_question=_yes, when_unsure="act"),
    cmd.Listening: Handler(act=station_commands.set_listening),
    cmd.Practice: Handler(act=station_commands.practise),
    cmd.Print: Handler(act=printing.print_wished, answered=printing.nothing_to_print),
    # The jug scale answers these itself, where there is one.
    cmd.ZeroJug: Handler(act=station_commands.no_scale, when_unsure="act"),
    cmd.ReadJug: Handler(act=station_commands.no_scale, when_unsure="act"),
    cmd.Calibrate: Handler(act=station_commands.no_scale, when_unsure="act"),
    # A bare value becomes the command that it means (`slots`), two in one breath are carried out one by one.
    cmd.GivenAmount: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenTime: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenPercent: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenCount: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenLot: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenRecipe: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenShape: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenTimer: _NO_COMMAND_OF_ITS_OWN,
    cmd.GivenTray: _NO_COMMAND_OF_ITS_OWN,
    cmd.Together: _NO_COMMAND_OF_ITS_OWN,
    cmd.Answer: Handler(act=_nothing, is_talk=lambda state: state.question is None, when_unsure="act"),
}
