"""TOML that a kitchen writes, read and checked: each section a struct whose fields say what is allowed.

What can't be used is one line that says where, what was found, what is allowed and what to do.
"""

import difflib
import math
import tomllib
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Meta, Struct, inspect

from assistant.errors import SettingsError


def read(file: Path) -> dict[str, Any]:
    """What a TOML file says; nothing where there is none."""
    try:
        text = file.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise SettingsError(
            f"{file} can't be read ({error.strerror}); make it a readable file or move it away to get the defaults."
        ) from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{file} is not UTF-8 text (byte {error.start}); save it as UTF-8.") from error
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        why = str(error).rstrip(".") or "nested too deeply"
        raise SettingsError(
            f"{file} is not TOML: {why}; mend it, or move the file away to get the defaults."
        ) from error


def read_section(file: Path, name: str, kind: type[Struct], values: dict[str, Any]) -> Struct:
    """One section from what the file says of it."""
    known = {field.name: field for field in msgspec.structs.fields(kind)}
    taken = {}
    for key, value in values.items():
        if key not in known:
            raise SettingsError(f"{file}: [{name}] has no setting {shown(key)}; {hint(key, list(known))}")
        field = known[key]
        try:
            taken[key] = msgspec.convert(value, field.type)
            usable = not isinstance(value, float) or math.isfinite(value)
        except (msgspec.ValidationError, OverflowError):
            usable = False
        if not usable:
            raise SettingsError(
                f"{file}: [{name}] {key} = {shown(value)}, allowed is {allowed(field.type)}; "
                f"change it, or remove the line to get {shown(field.default)}."
            )
    return kind(**taken)


def hint(name: str, known: list[str]) -> str:
    """What to do about a name that is not known."""
    near = difflib.get_close_matches(name, known, n=1)
    return (
        f"did you mean {near[0]}? Write that, or remove it."
        if near
        else f"remove it; there are {', '.join(known)}."
    )


def meta_of(kind: Any) -> Meta:
    """The first annotation of a setting's type."""
    meta: Meta = kind.__metadata__[0]
    return meta


def allowed(kind: Any) -> str:
    """What a setting may be, in words, from its type."""
    meta = meta_of(kind)
    extra = meta.extra or {}
    told = inspect.type_info(kind)
    if isinstance(told, inspect.Metadata):
        told = told.type
    if "allowed" in extra:
        return str(extra["allowed"])
    if isinstance(told, inspect.BoolType):
        return "true or false"
    if isinstance(told, inspect.LiteralType):
        return " or ".join(shown(value) for value in told.values)
    if isinstance(told, inspect.IntType | inspect.FloatType):
        whole = "a whole number" if isinstance(told, inspect.IntType) else "a number"
        return f"{whole} from {meta.ge:g} to {meta.le:g} {extra['unit']}".rstrip()
    return "text in quotes" + (", not empty" if meta.min_length else "")


def shown(value: Any) -> str:
    """A value as TOML has it, shortened to what fits in one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, dict):
        return "a section"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    return text if len(text) <= 60 else f"{text[:57]}..."
