"""Commands after the crumb is ready, about the whole shift, and to the station itself."""

from dataclasses import field
from typing import Literal

from assistant.batch.record.command_tags import command
from assistant.dough.amounts import Amount

Move = Literal["done", "next", "back", "skip", "leave"]
TrayState = Literal["full", "cold"]
CutterFigure = Literal["speed", "length", "want"]
PrintWish = Literal["label", "labels", "sheet", "day", "again"]
TakenOutOf = Literal["dough", "flour", "water"]


@command("walk")
class Walk:
    """Begin a walk-through by its name, or go on with one that was left."""

    walk: str


@command("clean_down_done")
class CleanDownDone:
    """The machine was cleaned down, by the kitchen's own way and not step by step here."""


@command("walk_move")
class WalkMove:
    """A move inside the open walk-through; without one it is talk."""

    move: Move


@command("extruding")
class Extruding:
    """The cook says that dough goes through the die."""


@command("new_die")
class NewDie:
    """The die that is in now, by name."""

    name: str = field(metadata={"json": "die"})


@command("die_warm")
class DieWarm:
    """The edges of the pasta are clean: the die is warm."""


@command("die_clean")
class DieClean:
    """The die was cleaned, and no more of the machine."""


@command("scrap")
class Scrap:
    """Dough that was trimmed or lost."""

    amount: Amount


@command("took_out")
class TookOut:
    """Taken out of the hopper again: mixed dough, or flour or water by itself; None: that was not said."""

    amount: Amount
    what: TakenOutOf | None = None


@command("tray_done")
class TrayDone:
    """A tray is full."""


@command("tray_cold")
class TrayCold:
    """A tray is down to cold holding; None: the one that waits longest."""

    tray: int | None = None


@command("trays_cold")
class TraysCold:
    """All trays that wait are down to cold holding."""


@command("tray_stored")
class TrayStored:
    """A tray is in the fridge, which says neither that it was counted nor that it is cold yet."""

    tray: int | None = None
    state: TrayState | None = None
    """Which of the two it is; None: to be asked."""


@command("cancel")
class Cancel:
    """Cancel, and nothing more: what is open, or what was just read back."""


@command("portions")
class Portions:
    """So many portions are made."""

    count: int


@command("cook")
class Cook:
    """A shape went into the boiling water."""

    name: str = field(metadata={"json": "shape"})


@command("cutter")
class Cutter:
    """The cutter's speed, the length of the pieces at it (mm), or the length that is wanted (mm)."""

    of: CutterFigure
    figure: float


@command("machine_question")
class MachineQuestion:
    """To stop the machine, or whether it is off or safe: the cook alone switches, and looks."""


@command("clock_told")
class ClockTold:
    """The cook reads a clock: so many minutes past an hour of the twelve, or, below zero, to it."""

    hour: int
    minute: int


@command("who_cooks")
class WhoCooks:
    """Who cooks from now on, by a name of the kitchen's; None: who does is asked."""

    cook: str | None = None


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


@command("practice")
class Practice:
    """Begin a guided batch that nothing is written of, or end it."""

    on: bool


@command("print")
class Print:
    """Print the label of a tray, one of each, a sheet; or once more what could not be printed."""

    page: PrintWish
    tray: int | None = None
    """Of a label; None: the last tray."""
    whole: bool = field(default=False, metadata={"json": None})
    """The batch as a whole, as was answered."""


@command("zero_jug")
class ZeroJug:
    """Call the empty plate of the jug scale zero."""


@command("read_jug")
class ReadJug:
    """Say what the jug scale reads."""


@command("calibrate")
class Calibrate:
    """Calibrate the jug scale: be led through an empty plate and a known weight."""
