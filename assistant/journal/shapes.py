"""Frozen dataclasses as JSON values and back, by their type hints alone. Pure.

A dataclass is an object of its fields. Where a field may be one of several dataclasses, the object has one
key, the class's name, over that class's fields; names that it was written under before are in its
`WRITTEN_AS`. Numbers are finite; nothing is guessed or converted.
"""

import math
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

Codec = Callable[[Any], Any]
"""An encoder (value of a type -> JSON values) or a decoder (JSON values -> value of a type)."""


class ShapeError(ValueError):
    """A value does not have the shape that its type asks for: where, and what was found."""


class UnknownNameError(ShapeError):
    """A field or class that this version doesn't know."""


@cache
def encoder(hint: Any) -> Codec:
    """Function that turns a value of this type into JSON values. Raises ShapeError at inf and nan."""
    return _codec(hint, encodes=True)


@cache
def decoder(hint: Any) -> Codec:
    """Function that turns JSON values into a value of this type.

    Raises ShapeError where the shape differs. A field that is missing takes its default, where it has one:
    so records from before the field was there stay readable.
    """
    return _codec(hint, encodes=False)


def _codec(hint: Any, *, encodes: bool) -> Codec:
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        return _union(get_args(hint), encodes=encodes)
    if origin is Literal:
        return _literal(get_args(hint))
    if origin is tuple:
        return _tuple(get_args(hint), encodes=encodes)
    if is_dataclass(hint):
        return _object_encoder(hint) if encodes else _object_decoder(hint)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _enum_value if encodes else _enum_decoder(hint)
    if hint is float:
        return _number
    if hint in (int, str, bool, NoneType):
        return _primitive(hint)
    raise TypeError(f"{hint}: there is no JSON shape for this type")


def _number(value: Any) -> float:
    if type(value) not in (int, float) or not math.isfinite(value):
        raise ShapeError(f"{value!r} is not a number")
    return float(value)


def _primitive(kind: type) -> Codec:
    def check(value: Any) -> Any:
        if type(value) is not kind:
            raise ShapeError(f"{value!r} is not of type {kind.__name__}")
        return value

    return check


def _literal(allowed: tuple[Any, ...]) -> Codec:
    def check(value: Any) -> Any:
        if value not in allowed:
            raise ShapeError(f"{value!r} is none of {', '.join(map(str, allowed))}")
        return value

    return check


def _enum_value(value: Enum) -> Any:
    return value.value


def _enum_decoder(kind: type[Enum]) -> Codec:
    def decode(value: Any) -> Enum:
        try:
            return kind(value)
        except ValueError as error:
            raise ShapeError(f"{value!r} is not a {kind.__name__}") from error

    return decode


def _tuple(hints: tuple[Any, ...], *, encodes: bool) -> Codec:
    """A tuple of one type of any length, or of as many values as it has types."""
    of = encoder if encodes else decoder
    whole: Codec = list if encodes else tuple
    if len(hints) == 2 and hints[1] is Ellipsis:
        each = of(hints[0])

        def convert_all(value: Any) -> Any:
            return whole([each(item) for item in _sequence(value)])

        return convert_all
    codecs = [of(hint) for hint in hints]

    def convert_each(value: Any) -> Any:
        if len(_sequence(value)) != len(codecs):
            raise ShapeError(f"{len(value)} values where there should be {len(codecs)}")
        return whole([codec(item) for codec, item in zip(codecs, value, strict=True)])

    return convert_each


def _sequence(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        raise ShapeError(f"{value!r} is not a list")
    return value


def _union(hints: tuple[Any, ...], *, encodes: bool) -> Codec:
    """None or one type, or one of several dataclasses by name."""
    rest = [hint for hint in hints if hint is not NoneType]
    if len(rest) == 1:
        codec = (encoder if encodes else decoder)(rest[0])
        return lambda value: None if value is None else codec(value)
    if len(rest) != len(hints) or not all(is_dataclass(hint) for hint in rest):
        raise TypeError(f"{hints}: there is no JSON shape for this choice")
    by_name = {name: hint for hint in rest for name in (hint.__name__, *getattr(hint, "WRITTEN_AS", ()))}
    if encodes:
        # By their types as they come: a command may hold commands.
        by_type: dict[Any, Any] = {hint: hint for hint in rest}
        return lambda value: {type(value).__name__: encoder(by_type[type(value)])(value)}

    def decode(value: Any) -> Any:
        if not isinstance(value, dict) or len(value) != 1:
            raise ShapeError(f"{value!r} does not name a single class")
        ((name, inside),) = value.items()
        if name not in by_name:
            raise UnknownNameError(f"{name!r} is not known")
        return decoder(by_name[name])(inside)

    return decode


def _object_encoder(kind: Any) -> Codec:
    hints = get_type_hints(kind)
    encoders = [(field.name, encoder(hints[field.name])) for field in fields(kind)]

    def encode(value: Any) -> dict[str, Any]:
        return {name: _inside(encode_one, name, getattr(value, name)) for name, encode_one in encoders}

    return encode


def _object_decoder(kind: Any) -> Codec:
    hints = get_type_hints(kind)
    decoders = {field.name: decoder(hints[field.name]) for field in fields(kind)}
    needed = [f.name for f in fields(kind) if f.default is MISSING and f.default_factory is MISSING]

    def decode(value: Any) -> Any:
        if not isinstance(value, dict):
            raise ShapeError(f"{value!r} is not an object of {kind.__name__}")
        unknown = [name for name in value if name not in decoders]
        if unknown:
            raise UnknownNameError(f"field {unknown[0]!r} of {kind.__name__} is not known")
        missing = [name for name in needed if name not in value]
        if missing:
            raise ShapeError(f"field {missing[0]!r} of {kind.__name__} is missing")
        return kind(**{name: _inside(decoders[name], name, inside) for name, inside in value.items()})

    return decode


def _inside(codec: Codec, name: str, value: Any) -> Any:
    """Convert a field; an error says which field it was."""
    try:
        return codec(value)
    except UnknownNameError:
        raise
    except ShapeError as error:
        raise ShapeError(f"{name}: {error}") from error
