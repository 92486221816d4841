"""A command as a JSON object, as the program prints it."""

from dataclasses import fields
from typing import Any

from assistant.batch.record.commands import Command, Together, tag_of
from assistant.dough.amounts import GRAMS_PER, Amount


def meaning_object(command: Command | None) -> dict[str, Any]:
    """What a sentence means: `command`, None for talk; and `commands` where it is several in one breath."""
    if isinstance(command, Together):
        return {"command": None, "commands": [command_object(one) for one in command.commands]}
    return {"command": None if command is None else command_object(command)}


def command_object(command: Command) -> dict[str, Any]:
    """JSON object of a command: its tag as `name`, then its fields; an amount as value, unit, grams if known.

    A switch that is off unless it is said is left out where it is off.

    `{"name": "water", "value": 150, "unit": "g", "grams": 150}`
    """
    found: dict[str, Any] = {"name": tag_of(command)}
    for each in fields(command):
        value = getattr(command, each.name)
        name = each.metadata.get("json", each.name)
        if name is None or (each.default is False and value is False):
            continue
        if isinstance(value, Amount):
            found["value"] = _plain(value.value)
            found["unit"] = value.unit
            if value.unit in GRAMS_PER:
                found["grams"] = _plain(round(value.value * GRAMS_PER[value.unit], 3))
        else:
            found[name] = _plain(value)
    return found


def _plain(value: Any) -> Any:
    """Whole floats as integers, for readers of JSON."""
    return int(value) if isinstance(value, float) and value.is_integer() else value
