"""How an answer of `crumbcall dough` is given: as text, or its values as one JSON object; and what its commands share."""

import json
from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from assistant.config.home import Home
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.settings import Settings
from assistant.dough.ranges import between
from assistant.errors import CrumbcallError, DoughError

Answer = tuple[str, dict[str, Any]]


@click.group("dough")
def dough_command() -> None:
    """Reckon: hydration, moisture, rescue, temperature, ice, ingredients, recipe, scale, blend, yield, oven, cutter.

    Example: crumbcall dough ingredients 1500 "whole egg=300"
    """


def answers(name: str) -> Callable[[Callable[..., Answer]], click.Command]:
    """A command that prints an answer as text, or its values as one JSON object."""

    def made(answer: Callable[..., Answer]) -> click.Command:
        @wraps(answer)
        def run(as_json: bool, **given: Any) -> None:
            try:
                text, values = answer(**given)
            except CrumbcallError:
                raise
            except ValueError as error:
                raise DoughError(f"{error}; give another figure.") from error
            click.echo(json.dumps({k: _rounded(v) for k, v in values.items()}) if as_json else text)

        option = click.option("--json", "as_json", is_flag=True, help="One JSON object.")
        command: click.Command = dough_command.command(name)(option(run))
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


flour_argument = click.argument("flour", type=float, metavar="FLOUR_G")
water_argument = click.argument("water", type=float, metavar="WATER_G")
target_option = click.option("--target", type=float, help="Hydration aimed at, % (default: the settings').")
moisture_option = click.option("--moisture", type=float, help="The flour's own moisture, %.")


def target_pct(home: Home, target: float | None) -> float:
    """The hydration aimed at: as given, else the settings'."""
    if target is None:
        return Settings.load(home.settings_file).batch.target_pct
    return between("target", target, 15, 60, "%")


def pantry_of(home: Home) -> Pantry:
    """The kitchen's ingredients."""
    return Pantry.load(home.config / OWN_FILE)


def part_of(text: str) -> tuple[str, float, float | None]:
    """An ingredient as NAME=GRAMS or NAME=GRAMS@WATER_PCT."""
    name, equals, rest = text.rpartition("=")
    if not equals or not name.strip():
        raise DoughError(f"{text!r} is no ingredient; write NAME=GRAMS, as 'whole egg=200'.")
    grams, at, water = rest.partition("@")
    return name.strip(), number_of(text, grams), number_of(text, water) if at else None


def number_of(where: str, text: str) -> float:
    """A number within an argument. Raises DoughError."""
    try:
        return float(text)
    except ValueError:
        raise DoughError(f"{where!r}: {text.strip() or 'nothing'} is no number; write one, as 200.") from None
