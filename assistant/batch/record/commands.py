"""What a cook can ask for: one frozen class per command, as the grammar understands it.

A command carries what was said, not what it does: an amount keeps its unit, and `decide` finds out which
timer is meant.
"""

# ruff: noqa: PLC0414 - all commands are imported from here

from dataclasses import field
from typing import Literal, get_args

from assistant.batch.record.command_tags import TAGS, command
from assistant.batch.record.given_commands import GivenAmount as GivenAmount
from assistant.batch.record.given_commands import GivenCount as GivenCount
from assistant.batch.record.given_commands import GivenLot as GivenLot
from assistant.batch.record.given_commands import GivenPercent as GivenPercent
from assistant.batch.record.given_commands import GivenRecipe as GivenRecipe
from assistant.batch.record.given_commands import GivenShape as GivenShape
from assistant.batch.record.given_commands import GivenTime as GivenTime
from assistant.batch.record.given_commands import GivenTimer as GivenTimer
from assistant.batch.record.given_commands import GivenTray as GivenTray
from assistant.batch.record.shift_commands import Calibrate as Calibrate
from assistant.batch.record.shift_commands import Cancel as Cancel
from assistant.batch.record.shift_commands import CleanDownDone as CleanDownDone
from assistant.batch.record.shift_commands import ClockTold as ClockTold
from assistant.batch.record.shift_commands import Cook as Cook
from assistant.batch.record.shift_commands import Cutter as Cutter
from assistant.batch.record.shift_commands import CutterFigure as CutterFigure
from assistant.batch.record.shift_commands import DieClean as DieClean
from assistant.batch.record.shift_commands import DieWarm as DieWarm
from assistant.batch.record.shift_commands import Extruding as Extruding
from assistant.batch.record.shift_commands import Listening as Listening
from assistant.batch.record.shift_commands import Loudness as Loudness
from assistant.batch.record.shift_commands import MachineQuestion as MachineQuestion
from assistant.batch.record.shift_commands import Move as Move
from assistant.batch.record.shift_commands import NewDie as NewDie
from assistant.batch.record.shift_commands import Pace as Pace
from assistant.batch.record.shift_commands import Portions as Portions
from assistant.batch.record.shift_commands import Practice as Practice
from assistant.batch.record.shift_commands import Print as Print
from assistant.batch.record.shift_commands import PrintWish as PrintWish
from assistant.batch.record.shift_commands import ReadJug as ReadJug
from assistant.batch.record.shift_commands import Scrap as Scrap
from assistant.batch.record.shift_commands import TakenOutOf as TakenOutOf
from assistant.batch.record.shift_commands import TookOut as TookOut
from assistant.batch.record.shift_commands import TrayCold as TrayCold
from assistant.batch.record.shift_commands import TrayDone as TrayDone
from assistant.batch.record.shift_commands import TraysCold as TraysCold
from assistant.batch.record.shift_commands import TrayState as TrayState
from assistant.batch.record.shift_commands import TrayStored as TrayStored
from assistant.batch.record.shift_commands import Walk as Walk
from assistant.batch.record.shift_commands import WalkMove as WalkMove
from assistant.batch.record.shift_commands import WhoCooks as WhoCooks
from assistant.batch.record.shift_commands import ZeroJug as ZeroJug
from assistant.dough.amounts import Amount

Verdict = Literal["dry", "ready", "wet"]
Condition = Literal["kitchen", "dough", "humidity", "exit"]
Topic = Literal["left", "in", "hydration", "where", "next", "help", "time", "dough", "plan", "day"]


@command("new_batch")
class NewBatch:
    """Open a batch with this much flour."""

    flour: Amount


@command("same_again")
class SameAgain:
    """Open a batch like the one before: the same flour, marks, recipe and lot."""


@command("target")
class SetTarget:
    """Aim at this hydration: water in percent of the flour's mass."""

    percent: float


@command("lot")
class SetLot:
    """Name the flour's lot, digits as said."""

    lot: str


@command("recipe")
class UseRecipe:
    """The next batch is made by this recipe of the kitchen."""

    recipe: str


@command("condition")
class TellCondition:
    """Temperature of the kitchen, the dough or the strand out of the die (C), or humidity of the air (%)."""

    what: Condition
    value: float


@command("water")
class AddWater:
    """Water went in."""

    amount: Amount


@command("pour_rest")
class PourRest:
    """All that was left to the target went in."""


@command("flour")
class AddFlour:
    """More flour went in."""

    amount: Amount


@command("addition")
class AddAddition:
    """An addition of the recipe went in; `amount` None: as much as the recipe says."""

    ingredient: str
    amount: Amount | None = None


@command("leave_out")
class LeaveOut:
    """An addition of the recipe stays out of this batch."""

    ingredient: str


@command("make_that")
class MakeThat:
    """The last entry was really this much."""

    amount: Amount


@command("undo")
class Undo:
    """Take the last thing back."""


@command("crumb")
class JudgeCrumb:
    """The crumb was squeezed and is dry, ready or wet."""

    verdict: Verdict


@command("close_batch")
class CloseBatch:
    """The batch is done."""


@command("drop_batch")
class DropBatch:
    """The batch is thrown away."""


@command("ask")
class Ask:
    """A question to the assistant."""

    topic: Topic


@command("say_again")
class SayAgain:
    """Repeat the last thing said."""


@command("mix")
class Mix:
    """Mix for this long (s); None: as long as this stage takes by the settings."""

    seconds: float | None = None


@command("rest")
class Rest:
    """Rest for this long (s); None: as long as the settings say."""

    seconds: float | None = None


@command("prep_rest")
class PrepRest:
    """A rest of the prep team's own, beside the batch, for this long (s); it gets the first free name."""

    seconds: float


@command("timer")
class SetTimer:
    """A timer beside the batch, by digit or name, for this long (s)."""

    name: str = field(metadata={"json": "timer"})
    seconds: float


@command("stop_timer")
class StopTimer:
    """Stop the timer of this name; None: the one that rings, or the only one."""

    name: str | None = field(default=None, metadata={"json": "timer"})


@command("add_time")
class AddTime:
    """Give a timer this much more time (s); `name` None: the one that rings, or the next due."""

    seconds: float
    name: str | None = field(default=None, metadata={"json": "timer"})


@command("got_it")
class GotIt:
    """Heard: silence what rings, the most urgent or all of it."""

    everything: bool = False


@command("mixer")
class Mixer:
    """The cook says that the mixer runs or does not. We switch nothing."""

    on: bool


@command("answer")
class Answer:
    """Yes or no; only while a question is open."""

    yes: bool


@command("incomplete")
class Incomplete:
    """A command was begun but can't be carried out as said.

    `command` is its name in `COMMANDS`; `missing` says what: no number, or a unit that does not fit. `given`:
    what was said of it, slot by slot.
    """

    command: str
    missing: Literal["number", "unit"]
    given: tuple[tuple[str, str], ...] = field(default=(), metadata={"json": None})


@command("together")
class Together:
    """Commands in one breath, carried out one after the other; one that is asked about holds up the rest."""

    commands: "tuple[Command, ...]"


Command = (
    NewBatch
    | SameAgain
    | SetTarget
    | SetLot
    | UseRecipe
    | TellCondition
    | AddWater
    | PourRest
    | AddFlour
    | AddAddition
    | LeaveOut
    | MakeThat
    | Undo
    | JudgeCrumb
    | CloseBatch
    | DropBatch
    | Ask
    | SayAgain
    | Mix
    | Rest
    | PrepRest
    | SetTimer
    | StopTimer
    | AddTime
    | Walk
    | CleanDownDone
    | WalkMove
    | DieClean
    | DieWarm
    | TrayCold
    | TraysCold
    | Cook
    | Cutter
    | GotIt
    | Mixer
    | MachineQuestion
    | Extruding
    | NewDie
    | Scrap
    | TookOut
    | TrayDone
    | TrayStored
    | Cancel
    | Portions
    | WhoCooks
    | ClockTold
    | Loudness
    | Pace
    | Listening
    | Practice
    | Print
    | ZeroJug
    | ReadJug
    | Calibrate
    | GivenAmount
    | GivenTime
    | GivenPercent
    | GivenCount
    | GivenLot
    | GivenRecipe
    | GivenShape
    | GivenTimer
    | GivenTray
    | Answer
    | Incomplete
    | Together
)

COMMANDS: dict[str, type[Command]] = {TAGS[kind]: kind for kind in get_args(Command)}
"""Command classes by their tags."""


def tag_of(command: Command) -> str:
    """Name of a command's class, as in the grammar's tags and in JSON."""
    return TAGS[type(command)]
