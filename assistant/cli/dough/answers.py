"""How `crumbcall dough` answers: as text, or its values as one JSON object; and what its commands share."""

import json
from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from assistant.cli.quantity import FigureCommand, Quantity, read_figure
from assistant.config.home import Home
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.settings import Settings
from assistant.dough.ranges import (
    FLOUR_G,
    FLOUR_MOISTURE_PCT,
    INGREDIENT_G,
    TARGET_PCT,
    WATER_CONTENT_PCT,
    WATER_G,
)
from assistant.errors import DoughError

Answer = tuple[str, dict[str, Any]]


@click.group("dough")
def dough_command() -> None:
    """Calculate with dough: flour and water, heat and ice, ingredients and recipes, yield, lots and cutter.

    Example: crumbcall dough ingredients 1500 "whole egg=300"
    """


def answers(name: str) -> Callable[[Callable[..., Answer]], click.Command]:
    """A command that prints an answer as text, or its values as one JSON object."""

    def made(answer: Callable[..., Answer]) -> click.Command:
        @wraps(answer)
        def run(as_json: bool, **given: Any) -> None:
            text, values = answer(**given)
            click.echo(json.dumps({k: _rounded(v) for k, v in values.items()}) if as_json else text)

        option = click.option("--json", "as_json", is_flag=True, help="One JSON object.")
        command: click.Command = dough_command.command(name, cls=FigureCommand)(option(run))
        return command

    return made


def _rounded(value: Any) -> Any:
    """Figures to a thousandth: more is noise."""
    if isinstance(value, float):
        return round(value, 3)
    if isinstance(value, list):
        return [_rounded(one) for one in value]
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    return value


flour_argument = click.argument("flour", type=Quantity(FLOUR_G), metavar="FLOUR_G")
water_argument = click.argument("water", type=Quantity(WATER_G), metavar="WATER_G")
target_option = click.option(
    "--target",
    type=Quantity(TARGET_PCT),
    metavar="PCT",
    help="Hydration aimed at, % (default: the settings').",
)
moisture_option = click.option(
    "--moisture", type=Quantity(FLOUR_MOISTURE_PCT), metavar="PCT", help="The flour's own moisture, %."
)


def target_pct(home: Home, target: float | None) -> float:
    """The hydration aimed at: as given, else the settings'."""
    return Settings.load(home.settings_file).batch.target_pct if target is None else target


def refuse_ignored(why: str, **given: object) -> None:
    """Raise DoughError where one of these was given, since it would be ignored; None: it was not given.

    `why`: why it would be, and what to do.
    """
    ignored = [name for name, value in given.items() if value is not None]
    if ignored:
        raise DoughError(f"{' and '.join(ignored)} would be ignored {why}.")


def pantry_of(home: Home) -> Pantry:
    """The kitchen's ingredients."""
    return Pantry.load(home.config / OWN_FILE)


def part_of(text: str) -> tuple[str, float, float | None]:
    """An ingredient as NAME=GRAMS or NAME=GRAMS@WATER_PCT. Raises DoughError."""
    name, equals, rest = text.rpartition("=")
    name = name.strip()
    if not equals or not name or not name.isprintable():
        raise DoughError(f"{text!r} is not an ingredient; write NAME=GRAMS, as 'whole egg=200'.")
    grams, at, water = rest.partition("@")
    return (
        name,
        read_figure(INGREDIENT_G, grams, name),
        read_figure(WATER_CONTENT_PCT, water, f"{name}: water content") if at else None,
    )
