"""What a cook can ask for: one frozen class per command, as the grammar understands it.

A command carries what was said, not what it does: an amount keeps its unit, and `decide` finds out which
timer is meant.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from typing import Any, Literal, TypeVar, dataclass_transform, get_args

from assistant.dough.amounts import GRAMS_PER, Amount

Verdict = Literal["dry", "ready", "wet"]
Condition = Literal["kitchen", "dough", "humidity"]
Topic = Literal["left", "in", "hydration", "where", "next", "help", "time", "dough", "plan"]
Move = Literal["done", "next", "back", "skip", "leave"]
CutterFigure = Literal["speed", "length", "want"]

Class = TypeVar("Class")
_TAGS: dict[type[Any], str] = {}


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def command(tag: str) -> Callable[[type[Class]], type[Class]]:
    """Make a class a command: a frozen dataclass, called `tag` in the grammar and in JSON."""

    def make(kind: type[Class]) -> type[Class]:
        made = dataclass(frozen=True, slots=True)(kind)
        _TAGS[made] = tag
        return made

    return make


@command("new_batch")
class NewBatch:
    """Open a batch with this much flour."""

    flour: Amount


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
    """Temperature of the kitchen or the dough (C), or humidity of the air (%)."""

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


@command("walk")
class Walk:
    """Begin a walk-through by its name, or go on with one that was left."""

    walk: str


@command("walk_move")
class WalkMove:
    """A move inside the open walk-through; without one it is talk."""

    move: Move


@command("die_warm")
class DieWarm:
    """The edges of the pasta are clean: the die is warm."""


@command("tray_cold")
class TrayCold:
    """A tray is down to cold holding; None: the one that waits longest."""

    tray: int | None = None


@command("cook")
class Cook:
    """A shape went into the boiling water."""

    name: str = field(metadata={"json": "shape"})


@command("cutter")
class Cutter:
    """The cutter's speed, the length of the pieces at it (mm), or the length that is wanted (mm)."""

    of: CutterFigure
    figure: float


@command("got_it")
class GotIt:
    """Heard: silence what rings."""


@command("mixer")
class Mixer:
    """The cook says that the mixer runs or does not. We switch nothing."""

    on: bool


@command("extruding")
class Extruding:
    """The cook says that dough goes through the die."""


@command("new_die")
class NewDie:
    """The die that is in now, by name."""

    name: str = field(metadata={"json": "die"})


@command("scrap")
class Scrap:
    """Dough that was trimmed or lost."""

    amount: Amount


@command("tray_done")
class TrayDone:
    """A tray is full."""


@command("portions")
class Portions:
    """So many portions are made."""

    count: int


@command("loudness")
class Loudness:
    """Speak louder (+1) or softer (-1)."""

    step: int


@command("pace")
class Pace:
    """Speak faster (+1) or slower (-1)."""

    step: int


@command("listening")
class Listening:
    """Act on commands, or on nothing but this one's opposite."""

    on: bool


@command("zero_jug")
class ZeroJug:
    """Call the empty plate of the jug scale zero."""


@command("read_jug")
class ReadJug:
    """Say what the jug scale reads."""


@command("calibrate")
class Calibrate:
    """Calibrate the jug scale: be led through an empty plate and a known weight."""


@command("known_weight")
class KnownWeight:
    """The weight on the scale that calibrates it; at any other time it is talk."""

    amount: Amount


@command("answer")
class Answer:
    """Yes or no; only while a question is open."""

    yes: bool


@command("incomplete")
class Incomplete:
    """A command was begun but can't be carried out as said.

    `command` is its name in `COMMANDS`; `missing` says what: no number, or a unit that does not fit.
    """

    command: str
    missing: Literal["number", "unit"]


Command = (
    NewBatch
    | SetTarget
    | SetLot
    | UseRecipe
    | TellCondition
    | AddWater
    | PourRest
    | AddFlour
    | MakeThat
    | Undo
    | JudgeCrumb
    | CloseBatch
    | DropBatch
    | Ask
    | SayAgain
    | Mix
    | Rest
    | SetTimer
    | StopTimer
    | AddTime
    | Walk
    | WalkMove
    | DieWarm
    | TrayCold
    | Cook
    | Cutter
    | GotIt
    | Mixer
    | Extruding
    | NewDie
    | Scrap
    | TrayDone
    | Portions
    | Loudness
    | Pace
    | Listening
    | ZeroJug
    | ReadJug
    | Calibrate
    | KnownWeight
    | Answer
    | Incomplete
)

COMMANDS: dict[str, type[Command]] = {_TAGS[kind]: kind for kind in get_args(Command)}
"""Command classes by their tags."""


def tag_of(command: Command) -> str:
    """Name of a command's class, as in the grammar's tags and in JSON."""
    return _TAGS[type(command)]


def command_object(command: Command) -> dict[str, Any]:
    """JSON object of a command: its tag as `name`, then its fields; an amount as value, unit, grams if known.

    `{"name": "water", "value": 150, "unit": "g", "grams": 150}`
    """
    found: dict[str, Any] = {"name": tag_of(command)}
    for each in fields(command):
        value = getattr(command, each.name)
        if isinstance(value, Amount):
            found["value"] = _plain(value.value)
            found["unit"] = value.unit
            if value.unit in GRAMS_PER:
                found["grams"] = _plain(round(value.value * GRAMS_PER[value.unit], 3))
        else:
            found[each.metadata.get("json", each.name)] = _plain(value)
    return found


def _plain(value: Any) -> Any:
    """Whole floats as integers, for readers of JSON."""
    return int(value) if isinstance(value, float) and value.is_integer() else value
