"""What a figure may be before it is worked with: one line that says what was found, what is allowed, what to do."""

import math

from assistant.errors import DoughError


def between(what: str, value: float, least: float, most: float, unit: str) -> float:
    """The value, where it lies in [least, most]. Raises DoughError, also for what is no number."""
    if not (math.isfinite(value) and least <= value <= most):
        raise DoughError(
            f"{what} {value:g} {unit}: from {least:g} to {most:g} {unit} is allowed; give another figure."
        )
    return value


def positive(what: str, value: float, unit: str = "g") -> float:
    """The value, where it is above 0. Raises DoughError, also for what is no number."""
    if not (math.isfinite(value) and value > 0):
        raise DoughError(f"{what} {value:g} {unit}: more than 0 {unit} is needed; weigh it again.")
    return value


def not_negative(what: str, value: float, unit: str = "g") -> float:
    """The value, where it is 0 or more. Raises DoughError, also for what is no number."""
    if not (math.isfinite(value) and value >= 0):
        raise DoughError(f"{what} {value:g} {unit}: 0 {unit} or more is allowed; weigh it again.")
    return value
