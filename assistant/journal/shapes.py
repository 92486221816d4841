"""Frozen dataclasses as JSON values and back, led by their type hints alone. Pure.

A dataclass is an object of its fields. Where a field may be one of several dataclasses, the object has one key,
the class's name, over that class's fields. Numbers are finite; nothing is guessed or converted.
"""

import math
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

Turn = Callable[[Any], Any]


class ShapeError(ValueError):
    """A value has not the shape that its type asks for: where, and what was found."""


class UnknownNameError(ShapeError):
    """A field or class that this version doesn't know."""


@cache
def writer(hint: Any) -> Turn:
    """Function that turns a value of this type into JSON values. Raises ShapeError at a number without end."""
    return _turn(hint, writing=True)


@cache
def reader(hint: Any) -> Turn:
    """Function that turns JSON values into a value of this type.

    Raises ShapeError where the shape differs. A field that is missing takes its default, where it has one: so
    records from before the field was there stay readable.
    """
    return _turn(hint, writing=False)


def _turn(hint: Any, *, writing: bool) -> Turn:
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        return _either(get_args(hint), writing=writing)
    if origin is Literal:
        return _one_of(get_args(hint))
    if origin is tuple:
        return _row(get_args(hint), writing=writing)
    if is_dataclass(hint):
        return _object_writer(hint) if writing else _object_reader(hint)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _enum_value if writing else _enum(hint)
    if hint is float:
        return _number
    if hint in (int, str, bool, NoneType):
        return _plain(hint)
    raise TypeError(f"{hint}: no JSON shape is laid down for this type")


def _number(value: Any) -> float:
    if type(value) not in (int, float) or not math.isfinite(value):
        raise ShapeError(f"{value!r} is no number")
    return float(value)


def _plain(kind: type) -> Turn:
    def turn(value: Any) -> Any:
        if type(value) is not kind:
            raise ShapeError(f"{value!r} is no {kind.__name__}")
        return value

    return turn


def _one_of(allowed: tuple[Any, ...]) -> Turn:
    def turn(value: Any) -> Any:
        if value not in allowed:
            raise ShapeError(f"{value!r} is none of {', '.join(map(str, allowed))}")
        return value

    return turn


def _enum_value(value: Enum) -> Any:
    return value.value


def _enum(kind: type[Enum]) -> Turn:
    def turn(value: Any) -> Enum:
        try:
            return kind(value)
        except ValueError as error:
            raise ShapeError(f"{value!r} is no {kind.__name__}") from error

    return turn


def _row(hints: tuple[Any, ...], *, writing: bool) -> Turn:
    of = writer if writing else reader
    whole: Turn = list if writing else tuple
    if len(hints) == 2 and hints[1] is Ellipsis:
        each = of(hints[0])

        def turn_all(value: Any) -> Any:
            return whole([each(item) for item in _sequence(value)])

        return turn_all
    turns = [of(hint) for hint in hints]

    def turn_each(value: Any) -> Any:
        if len(_sequence(value)) != len(turns):
            raise ShapeError(f"{len(value)} values where there should be {len(turns)}")
        return whole([turn(item) for turn, item in zip(turns, value, strict=True)])

    return turn_each


def _sequence(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        raise ShapeError(f"{value!r} is no list")
    return value


def _either(hints: tuple[Any, ...], *, writing: bool) -> Turn:
    """None or one type, or one of several dataclasses by name."""
    rest = [hint for hint in hints if hint is not NoneType]
    if len(rest) == 1:
        turn = (writer if writing else reader)(rest[0])
        return lambda value: None if value is None else turn(value)
    if len(rest) != len(hints) or not all(is_dataclass(hint) for hint in rest):
        raise TypeError(f"{hints}: no JSON shape is laid down for this choice")
    by_name = {hint.__name__: hint for hint in rest}
    if writing:
        turns = {hint: writer(hint) for hint in rest}
        return lambda value: {type(value).__name__: turns[type(value)](value)}

    def turn_named(value: Any) -> Any:
        if not isinstance(value, dict) or len(value) != 1:
            raise ShapeError(f"{value!r} names no single class")
        ((name, inside),) = value.items()
        if name not in by_name:
            raise UnknownNameError(f"{name!r} is not known")
        return reader(by_name[name])(inside)

    return turn_named


def _object_writer(kind: Any) -> Turn:
    hints = get_type_hints(kind)
    turns = [(field.name, writer(hints[field.name])) for field in fields(kind)]

    def turn(value: Any) -> dict[str, Any]:
        return {name: _inside(write, name, getattr(value, name)) for name, write in turns}

    return turn


def _object_reader(kind: Any) -> Turn:
    hints = get_type_hints(kind)
    turns = {field.name: reader(hints[field.name]) for field in fields(kind)}
    needed = [f.name for f in fields(kind) if f.default is MISSING and f.default_factory is MISSING]

    def turn(value: Any) -> Any:
        if not isinstance(value, dict):
            raise ShapeError(f"{value!r} is no {kind.__name__}")
        unknown = [name for name in value if name not in turns]
        if unknown:
            raise UnknownNameError(f"field {unknown[0]!r} of {kind.__name__} is not known")
        missing = [name for name in needed if name not in value]
        if missing:
            raise ShapeError(f"field {missing[0]!r} of {kind.__name__} is missing")
        return kind(**{name: _inside(turns[name], name, inside) for name, inside in value.items()})

    return turn


def _inside(turn: Turn, name: str, value: Any) -> Any:
    try:
        return turn(value)
    except UnknownNameError:
        raise
    except ShapeError as error:
        raise ShapeError(f"{name}: {error}") from error
