"""The bare value that an open question asks for, or that corrects what was just read back.

At any other time it is talk.
"""

from dataclasses import field

from assistant.batch.record.command_tags import command
from assistant.batch.record.shift_commands import TrayState
from assistant.dough.amounts import Amount


@command("given_amount", was=("KnownWeight",))
class GivenAmount:
    """A mass or a volume."""

    amount: Amount


@command("given_time")
class GivenTime:
    """A length of time (s)."""

    seconds: float


@command("given_percent")
class GivenPercent:
    """Percent."""

    percent: float


@command("given_count")
class GivenCount:
    """A whole number of things."""

    count: int


@command("given_lot")
class GivenLot:
    """A flour's lot."""

    lot: str


@command("given_recipe")
class GivenRecipe:
    """A recipe's name."""

    recipe: str


@command("given_shape")
class GivenShape:
    """A shape of pasta, or its die."""

    name: str = field(metadata={"json": "shape"})


@command("given_timer")
class GivenTimer:
    """A timer's digit or name."""

    name: str = field(metadata={"json": "timer"})


@command("given_tray")
class GivenTray:
    """What a tray in the fridge is."""

    state: TrayState
