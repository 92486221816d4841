"""The one reader of TOML that a kitchen writes: a file becomes a struct whose fields say what is allowed.

Every refusal is one line of the same shape: file, place, what was found, what is allowed, what to do.
Nothing is ignored silently.
"""

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

import msgspec
from msgspec import Struct
from msgspec.structs import FieldInfo

from assistant.config.toml_words import allowed, example, former_names, hint, shown
from assistant.errors import CrumbcallError, SettingsError

Refusal = Callable[[str], CrumbcallError]
"""Makes the error from its line."""
AnyStruct = TypeVar("AnyStruct", bound=Struct)


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is written."""

    file: Path
    error: Refusal = SettingsError
    """Which error a refusal is."""
    keys: tuple[str | int, ...] = ()
    """The way to it from the top of the file: names of keys, numbers (from 1) in lists."""

    def inside(self, key: str | int) -> "Place":
        """The place of a key, or of a list's entry, in this one."""
        return replace(self, keys=(*self.keys, key))

    def refuse(self, text: str) -> CrumbcallError:
        """The error for what is wrong here."""
        where = f": {self}" if self.keys else ":"
        return self.error(f"{self.file}{where} {text}")

    def refuse_table(self, text: str) -> CrumbcallError:
        """The error for the keys of the table that is here."""
        return self.error(f"{self.file}: {self.section} {text}") if len(self.keys) == 1 else self.refuse(text)

    @property
    def section(self) -> str:
        """The place as the name of a section."""
        return f"[{'.'.join(_name(key) for key in self.keys)}]"

    def __str__(self) -> str:
        """`[batch] target_pct`, `["opening check"] steps no. 2 say`."""
        first, *rest = self.keys
        words = [f"no. {key}" if isinstance(key, int) else _name(key) for key in rest]
        in_section = rest and isinstance(rest[0], str)
        return " ".join([f"[{_name(first)}]" if in_section else _name(first), *words])


def read_toml(file: Path, error: Refusal = SettingsError, *, optional: bool = False) -> dict[str, Any]:
    """What a TOML file says. Where there is none: nothing if it is `optional`, else an error."""
    try:
        return tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError as missing:
        if optional:
            return {}
        raise _unreadable(file, error, missing) from missing
    except OSError as unreadable:
        raise _unreadable(file, error, unreadable) from unreadable
    except UnicodeDecodeError as no_text:
        raise error(f"{file} is not UTF-8 text (byte {no_text.start}); save it as UTF-8.") from no_text
    except (ValueError, RecursionError) as no_toml:
        why = str(no_toml).rstrip(".") or "nested too deeply"
        raise error(f"{file} is not TOML: {why}; mend it, or move it away.") from no_toml


def read_struct(
    file: Path, kind: type[AnyStruct], error: Refusal = SettingsError, *, optional: bool = False
) -> AnyStruct:
    """A whole TOML file as a struct."""
    return take_struct(Place(file, error), read_toml(file, error, optional=optional), kind)


def read_sections(
    file: Path, kind: type[AnyStruct], error: Refusal = SettingsError, *, optional: bool = False
) -> dict[str, AnyStruct]:
    """A TOML file of sections that all have the same keys, by name."""
    found = read_toml(file, error, optional=optional)
    return {name: take_struct(Place(file, error, (name,)), value, kind) for name, value in found.items()}


RETIRED = "RETIRED"
"""Attribute of a struct with the keys that it had once: a file that still has them is read without them."""


def take_struct(place: Place, value: Any, kind: type[AnyStruct], base: AnyStruct | None = None) -> AnyStruct:
    """A struct from a table; what is not written is as in `base`, else as the fields' defaults say."""
    if not isinstance(value, Mapping):
        raise _no_section(place, value)
    known = {field.name: field for field in msgspec.structs.fields(kind)}
    retired = getattr(kind, RETIRED, ())
    written = _by_new_names(place, {key: one for key, one in value.items() if key not in retired}, known)
    for key, one in written.items():
        if key not in known:
            raise _unknown(place, key, one, known)
    for name, field in known.items():
        if field.required and name not in written and base is None:
            raise place.inside(name).refuse(f"is missing; write {example(field.type)}.")
    taken = {
        key: _take(place.inside(key), one, known[key].type, _default(known[key], base))
        for key, one in written.items()
    }
    return kind(**taken) if base is None else msgspec.structs.replace(base, **taken)


def _take(place: Place, value: Any, kind: Any, default: Any = msgspec.NODEFAULT) -> Any:
    """A value in its type and range; of a table or a list each one, so that an error names it."""
    inner = _inner(kind)
    origin, arguments = get_origin(inner), get_args(inner)
    if isinstance(inner, type) and issubclass(inner, Struct):
        base = default if isinstance(default, inner) else None
        return take_struct(place, value, inner, base)
    if origin is dict:
        if not isinstance(value, dict):
            raise _no_section(place, value)
        return {key: _take(place.inside(key), one, arguments[1]) for key, one in value.items()}
    entries = value if origin is list and isinstance(value, list) and _is_struct(arguments[0]) else []
    structs = [take_struct(place.inside(number), one, arguments[0]) for number, one in enumerate(entries, 1)]
    try:
        taken = msgspec.convert(value, kind)
    except (msgspec.ValidationError, OverflowError):
        raise _not_allowed(place, value, kind, default) from None
    if isinstance(taken, float) and not math.isfinite(taken):
        raise _not_allowed(place, value, kind, default)
    return structs or taken


def _by_new_names(place: Place, value: Mapping[str, Any], known: Mapping[str, FieldInfo]) -> dict[str, Any]:
    """The table with every key that was renamed under its name of today."""
    written = dict(value)
    for name, field in known.items():
        for old in former_names(field.type):
            if old in value and name in written:
                raise place.refuse_table(
                    f"has {old}, an old name of {name}, which is there too; remove {old}."
                )
            if old in value:
                written[name] = written.pop(old)
    return written


def _default(field: FieldInfo, base: Struct | None) -> Any:
    return field.default if base is None else getattr(base, field.name)


def _inner(kind: Any) -> Any:
    """A type without its annotation, and without None beside it."""
    if get_origin(kind) is Annotated:
        return _inner(get_args(kind)[0])
    if get_origin(kind) in (Union, UnionType):
        rest = [one for one in get_args(kind) if one is not NoneType]
        return _inner(rest[0]) if len(rest) == 1 else kind
    return kind


def _is_struct(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Struct)


def _name(key: str | int) -> str:
    """A key as it is written: in quotes where TOML wants them."""
    text = str(key)
    bare = text != "" and all(letter.isascii() and (letter.isalnum() or letter in "_-") for letter in text)
    return text if bare else shown(text)


def _unreadable(file: Path, error: Refusal, why: OSError) -> CrumbcallError:
    return error(f"{file} can't be read ({why.strerror}); make it a readable file, or move it away.")


def _no_section(place: Place, value: Any) -> CrumbcallError:
    what = f"{shown(value)} is not a section"
    if len(place.keys) == 1:
        return place.refuse(f"= {what}; write {place.section} on a line of its own, its keys below.")
    return place.refuse(f"= {what}; write its keys in braces, as {{ key = value }}.")


def _not_allowed(place: Place, value: Any, kind: Any, default: Any) -> CrumbcallError:
    what_to_do = "change it"
    if default is None:
        what_to_do += ", or remove the line"
    elif isinstance(default, str | int | float):
        what_to_do += f", or remove the line to get {shown(default)}"
    return place.refuse(f"= {shown(value)}, allowed is {allowed(kind)}; {what_to_do}.")


def _unknown(place: Place, key: str, value: Any, known: Mapping[str, FieldInfo]) -> CrumbcallError:
    """What to do about a key that the struct has no field for."""
    for name, field in known.items():
        kind = _inner(field.type)
        if not isinstance(value, dict) and _is_struct(kind) and key in kind.__struct_fields__:
            return place.refuse(
                f"{_name(key)} is not in a section; write [{name}] on a line of its own above it."
            )
    what = f"section [{_name(key)}]" if isinstance(value, dict) else f"key {shown(key)}"
    if place.keys:
        return place.refuse_table(f"has no {what}; {hint(key, list(known))}")
    return place.refuse(f"there is no {what}; {hint(key, list(known))}")
