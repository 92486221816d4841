"""Figures on the command line, read as a cook writes or says them and held to their row of `dough.ranges`.

"1500", "1500g", "1.5 kg", "1,5 kg" and "half a kilo" are the same flour: units and spoken numbers are read by
the grammar that ships, whatever language the kitchen has. A figure that can't be used is one line: what was
found, what is allowed, what to do.
"""

import re
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import click

from assistant.batch.record.commands import AddWater, SetTarget
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import ML_PER_VESSEL, density_g_per_ml, grams_of_ml
from assistant.dough.ranges import Range
from assistant.dough.temperature import celsius as celsius_of
from assistant.errors import DoughError

if TYPE_CHECKING:
    from assistant.nlu import Grammar

USUAL_WATER_C = 20.0
"""Temperature of water that is given as a volume, where none is given with it (C)."""
_LONGEST = 60
_EXAMPLES = {
    "g": "1500 or 1.5 kg",
    "ml": "465",
    "%": "31",
    "C": "20",
    "kJ/kg": "5.5",
    "mm": "35",
}
_OWN_UNITS = {
    "ml": r"ml|mils|millilitres?|milliliters?",
    "%": r"%|percent|per cent",
    "C": r"(?:°|degrees?)? ?(?:c|celsius)?|°|degrees?",
    "kJ/kg": r"kj/kg|kj",
    "mm": r"mm|millimetres?|millimeters?",
}
"""Units that a figure of this kind may have after it, besides those of mass."""
_VESSEL = re.compile(rf"(.+?) ?({'|'.join(ML_PER_VESSEL)})s?")
_BARE_VESSEL = re.compile(r"(?<![a-z])(cup|pint)s?\Z")
_FAHRENHEIT = re.compile(r"(.+?) ?(?:°|degrees?)? ?(?:f|fahrenheit)")
_DECIMAL_COMMA = re.compile(r"[-+]?[0-9]+,[0-9]{1,2}")
_THOUSANDS = re.compile(r"[-+]?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")


if TYPE_CHECKING:
    _FigureType = click.ParamType[float]
else:  # releases of click before 8.3 have no type argument here
    _FigureType = click.ParamType


class Quantity(_FigureType):
    """A click type: a figure of one of the `ranges`, as a float; a whole one as an int."""

    name = "figure"

    def __init__(self, allowed: Range) -> None:
        self.allowed = allowed

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ARG002
        """Read what was typed. Raises DoughError."""
        return read_figure(self.allowed, str(value))


class FigureCommand(click.Command):
    """A command of figures: a negative one among its arguments is a figure, not an unknown option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the arguments. Raises DoughError at a negative figure, for none of them may be."""
        given = list(args)
        try:
            return super().parse_args(ctx, args)
        except click.NoSuchOption as error:
            figure = _negative(given, error.option_name)
            if figure is None:
                raise
            raise DoughError(
                f"{figure} is below 0: figures from 0 up are allowed here; give another figure."
            ) from None


def read_figure(allowed: Range, text: str, what: str | None = None, water_c: float = USUAL_WATER_C) -> float:
    """A figure as it was typed, in the unit of its range; a volume of water weighs as at `water_c` (C).

    `what` names the figure more closely. Raises DoughError.
    """
    text = " ".join(text.split())
    value = _number(text)
    if value is None and len(text) <= _LONGEST:
        value = _with_unit(allowed, text.casefold(), water_c)
    if value is None:
        advice = f"write a number, as {_EXAMPLES.get(allowed.unit, '4')}"
        if allowed.water and _BARE_VESSEL.search(text.casefold()):
            advice = f"cups and pints differ: write g, ml or one of {', '.join(ML_PER_VESSEL)}"
        raise allowed.refusal(_shown(text), what, advice)
    found = allowed.check(value, what)
    return int(found) if allowed.whole else found


def _number(text: str) -> float | None:
    """A bare number in digits; None for anything else."""
    if _DECIMAL_COMMA.fullmatch(text):
        return float(text.replace(",", "."))
    try:
        return float(text.replace(",", "") if _THOUSANDS.fullmatch(text) else text)
    except ValueError:
        return None


def _with_unit(allowed: Range, text: str, water_c: float) -> float | None:
    """A figure with a unit, or in words."""
    if allowed.unit == "g":
        if allowed.water and (measured := _VESSEL.fullmatch(text)):
            number, vessel = _number(measured.group(1)), measured.group(2)
            return None if number is None else grams_of_ml(number * ML_PER_VESSEL[vessel], water_c)
        meant = _grammar().parse(f"water {text}")
        if not isinstance(meant, AddWater) or not (allowed.water or meant.amount.unit not in ("ml", "l")):
            return None
        return meant.amount.grams(density_g_per_ml(water_c))
    if allowed.unit == "C" and (warm := _FAHRENHEIT.fullmatch(text)):
        degrees = _number(warm.group(1))
        return None if degrees is None else celsius_of(degrees)
    own = _OWN_UNITS.get(allowed.unit)
    bare = re.sub(rf"(?<=[^a-z]) ?(?:{own})\Z", "", text).strip() if own else text
    value = _number(bare)
    if value is None:
        meant = _grammar().parse(f"target {bare}")
        value = meant.percent if isinstance(meant, SetTarget) else None
    return value


@cache
def _grammar() -> "Grammar":
    from assistant.nlu import load_grammar  # a tenth of a second, and few figures need it

    return load_grammar(grammar_folder() / "commands.jsgf")


def _negative(given: Sequence[str], option: str) -> str | None:
    """The argument that was taken for this option, where it is a figure."""
    found = next((one for one in given if one.startswith(option)), None)
    return found if found is not None and re.match(r"-(?:[0-9.]|inf|nan)", found) else None


def _shown(text: str) -> str:
    """What was typed, in quotes, short enough for a line."""
    return repr(text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}...")
