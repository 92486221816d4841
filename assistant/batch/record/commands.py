"""What a cook can ask for: one frozen class a command, as the grammar understands it.

Commands carry what was said, not what it does: an amount keeps its unit, a pronoun is resolved by `decide`.
`COMMANDS` maps the name used in the grammar's tags and in JSON to the class.
"""

from dataclasses import dataclass, fields
from typing import Any, Literal

from assistant.batch.record.scale_commands import Calibrate, ReadJug, ZeroJug
from assistant.batch.record.shift_commands import Cook, Cutter, DieWarm, TrayCold, Walk, WalkMove

Unit = Literal["g", "kg", "lb", "oz", "ml", "l"]
Verdict = Literal["dry", "ready", "wet"]
Condition = Literal["kitchen", "dough", "humidity"]
Topic = Literal["left", "in", "hydration", "where", "next", "help", "time", "dough", "plan"]

GRAMS_PER: dict[Unit, float] = {"g": 1.0, "kg": 1000.0, "lb": 453.59237, "oz": 28.349523125}
"""Exact by definition of the international pound, 1959 (units of volume need a density: `grams`)."""
MILLILITRES_PER: dict[Unit, float] = {"ml": 1.0, "l": 1000.0}


@dataclass(frozen=True, slots=True)
class Amount:
    """A mass or a volume as it was said.

    `exact` is true where the number can't be misheard (typed in digits, weighed): then it has no twin.
    """

    value: float
    unit: Unit = "g"
    exact: bool = False

    def grams(self, density_g_per_ml: float) -> float:
        """Mass in grams; a volume is turned by the liquid's density (g/ml)."""
        if self.unit in MILLILITRES_PER:
            return self.value * MILLILITRES_PER[self.unit] * density_g_per_ml
        return self.value * GRAMS_PER[self.unit]


@dataclass(frozen=True, slots=True)
class NewBatch:
    """Open a batch with this much flour."""

    flour: Amount


@dataclass(frozen=True, slots=True)
class SetTarget:
    """Aim at this hydration: water in percent of the flour's mass."""

    percent: float


@dataclass(frozen=True, slots=True)
class SetLot:
    """Name the flour's lot, digits as said."""

    lot: str


@dataclass(frozen=True, slots=True)
class UseRecipe:
    """The next batch is made by this recipe of the kitchen."""

    recipe: str


@dataclass(frozen=True, slots=True)
class TellCondition:
    """The kitchen or the dough is so warm (C), or the air so humid (%)."""

    what: Condition
    value: float


@dataclass(frozen=True, slots=True)
class AddWater:
    """Water went in."""

    amount: Amount


@dataclass(frozen=True, slots=True)
class PourRest:
    """All that was left to the target went in."""


@dataclass(frozen=True, slots=True)
class AddFlour:
    """More flour went in."""

    amount: Amount


@dataclass(frozen=True, slots=True)
class MakeThat:
    """The last entry was really this much."""

    amount: Amount


@dataclass(frozen=True, slots=True)
class Undo:
    """Take the last thing back."""


@dataclass(frozen=True, slots=True)
class JudgeCrumb:
    """The crumb was squeezed and is dry, ready or wet."""

    verdict: Verdict


@dataclass(frozen=True, slots=True)
class CloseBatch:
    """The batch is done."""


@dataclass(frozen=True, slots=True)
class DropBatch:
    """The batch is thrown away."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A question to the assistant."""

    topic: Topic


@dataclass(frozen=True, slots=True)
class SayAgain:
    """Repeat the last thing said."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Mix for so long (s); None: as long as this stage takes by the settings."""

    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class Rest:
    """Rest for so long (s); None: as long as the settings say."""

    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class SetTimer:
    """A timer beside the batch, by digit or name, for so long (s)."""

    name: str
    seconds: float


@dataclass(frozen=True, slots=True)
class StopTimer:
    """Stop the timer of this name; None: the one that rings, or the only one."""

    name: str | None = None


@dataclass(frozen=True, slots=True)
class AddTime:
    """Give a running or ringing timer so much more (s); None: the one that rings, or the next due."""

    seconds: float
    name: str | None = None


@dataclass(frozen=True, slots=True)
class GotIt:
    """Heard: silence what rings."""


@dataclass(frozen=True, slots=True)
class Mixer:
    """The cook tells us that the mixer runs or stands. We switch nothing."""

    on: bool


@dataclass(frozen=True, slots=True)
class Extruding:
    """The cook tells us that dough goes through the die."""


@dataclass(frozen=True, slots=True)
class NewDie:
    """The die that is in now, by name."""

    name: str


@dataclass(frozen=True, slots=True)
class Scrap:
    """Dough that was trimmed or lost."""

    amount: Amount


@dataclass(frozen=True, slots=True)
class TrayDone:
    """A tray is full."""


@dataclass(frozen=True, slots=True)
class Portions:
    """So many portions are made."""

    count: int


@dataclass(frozen=True, slots=True)
class Loudness:
    """Speak louder (+1) or softer (-1)."""

    step: int


@dataclass(frozen=True, slots=True)
class Pace:
    """Speak faster (+1) or slower (-1)."""

    step: int


@dataclass(frozen=True, slots=True)
class Listening:
    """Act on commands, or on nothing but this one's opposite."""

    on: bool


@dataclass(frozen=True, slots=True)
class KnownWeight:
    """What stands on the scale to calibrate it; at any other time it is talk."""

    amount: Amount


@dataclass(frozen=True, slots=True)
class Answer:
    """Yes or no; only while a question is open."""

    yes: bool


@dataclass(frozen=True, slots=True)
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

COMMANDS: dict[str, type[Command]] = {
    "new_batch": NewBatch,
    "target": SetTarget,
    "lot": SetLot,
    "recipe": UseRecipe,
    "condition": TellCondition,
    "water": AddWater,
    "pour_rest": PourRest,
    "flour": AddFlour,
    "make_that": MakeThat,
    "undo": Undo,
    "crumb": JudgeCrumb,
    "close_batch": CloseBatch,
    "drop_batch": DropBatch,
    "ask": Ask,
    "say_again": SayAgain,
    "mix": Mix,
    "rest": Rest,
    "timer": SetTimer,
    "walk": Walk,
    "walk_move": WalkMove,
    "die_warm": DieWarm,
    "tray_cold": TrayCold,
    "cook": Cook,
    "cutter": Cutter,
    "stop_timer": StopTimer,
    "add_time": AddTime,
    "got_it": GotIt,
    "mixer": Mixer,
    "extruding": Extruding,
    "new_die": NewDie,
    "scrap": Scrap,
    "tray_done": TrayDone,
    "portions": Portions,
    "loudness": Loudness,
    "pace": Pace,
    "listening": Listening,
    "zero_jug": ZeroJug,
    "read_jug": ReadJug,
    "calibrate": Calibrate,
    "known_weight": KnownWeight,
    "answer": Answer,
    "incomplete": Incomplete,
}
_NAMES = {cls: name for name, cls in COMMANDS.items()}


def command_name(command: Command) -> str:
    """Name of a command's class, as in the grammar's tags and in JSON."""
    return _NAMES[type(command)]


def command_object(command: Command) -> dict[str, Any]:
    """JSON object of a command: its name, then its fields; amounts as value, unit and grams where known.

    `{"name": "water", "value": 150, "unit": "g", "grams": 150}`
    """
    found: dict[str, Any] = {"name": command_name(command)}
    for field in fields(command):
        value = getattr(command, field.name)
        if isinstance(value, Amount):
            found["value"] = _plain(value.value)
            found["unit"] = value.unit
            if value.unit in GRAMS_PER:
                found["grams"] = _plain(round(value.value * GRAMS_PER[value.unit], 3))
        else:
            found[_SLOT.get((type(command), field.name), field.name)] = _plain(value)
    return found


_SLOT: dict[tuple[type[Command], str], str] = {
    (SetTimer, "name"): "timer",
    (StopTimer, "name"): "timer",
    (AddTime, "name"): "timer",
    (NewDie, "name"): "die",
    (Cook, "name"): "shape",
}
"""Slots that would hide the command's own name in JSON."""


def _plain(value: Any) -> Any:
    """Whole floats as integers, for readers of JSON."""
    return int(value) if isinstance(value, float) and value.is_integer() else value
