"""Kinds of values that options of more than one command take."""

import math
from collections.abc import Callable

import click


def bounded(least: float, most: float, *, or_zero: bool = False) -> Callable[[str | float], float]:
    """The type of an option: a finite number from `least` to `most`; with `or_zero`, zero too."""
    allowed = f"{'0, or ' if or_zero else ''}a number from {least:g} to {most:g}"

    def number(value: str | float) -> float:
        try:
            found = float(value)
        except ValueError:
            found = math.nan
        if least <= found <= most or (or_zero and found == 0):
            return found
        raise click.BadParameter(f"found {str(value)!r}, allowed is {allowed}; give one of these.")

    return number
