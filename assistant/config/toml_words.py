"""What the reader of TOML says of a type and of a value, in the words of the one who wrote the file."""

import difflib
import re
from collections.abc import Collection, Iterator
from typing import Any

from msgspec import Meta, inspect

from assistant.dough.ranges import Range

WAS = "was"
"""Key of a field's metadata (`Meta.extra`): names that the field had before, which stay readable."""
ALLOWED = "allowed"
"""Likewise: what is allowed in words, where the type does not say it well."""
EXAMPLE = "example"
"""Likewise: a line to write where a needed key is missing."""
UNIT = "unit"
"""Likewise: the unit of a number."""

MOST_LISTED = 20
"""Names that a refusal lists at most."""


def number(what: str, least: float, most: float, unit: str = "") -> Meta:
    """What a number is for, and its range."""
    return Meta(ge=least, le=most, description=what, extra={UNIT: unit})


def within(row: Range, what: str | None = None, unit: str | None = None) -> Meta:
    """What a number is for, with the range of its quantity; `unit`: where it is written otherwise."""
    return Meta(ge=row.least, le=row.most, description=what, extra={UNIT: row.unit if unit is None else unit})


def truth(what: str) -> Meta:
    """What a true means."""
    return Meta(description=what)


def one_of(names: Collection[str], what: str) -> Meta:
    """What a name is for, and the names that there are."""
    pattern = rf"^({'|'.join(map(re.escape, names))})\Z"
    return Meta(pattern=pattern, description=what, extra={ALLOWED: " or ".join(map(shown, names))})


def did_you_mean(name: str, known: Collection[str]) -> str:
    """What a name that is not known may have been meant for."""
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    if near:
        return f"did you mean {near[0]}?"
    listed = [*known][:MOST_LISTED]
    return f"there are {', '.join(listed)}{' ...' if len(known) > len(listed) else '.'}"


def hint(name: str, known: Collection[str]) -> str:
    """What to do about a key in a file that is not known."""
    question = did_you_mean(name, known)
    return f"{question} Write that, or remove it." if question.endswith("?") else f"remove it; {question}"


def allowed(kind: Any) -> str:
    """What a value of this type may be."""
    layers = list(_layers(kind))
    extra = _extra(kind)
    if ALLOWED in extra:
        return str(extra[ALLOWED])
    match layers[-1]:
        case inspect.BoolType():
            return "true or false"
        case inspect.LiteralType(values=values):
            return " or ".join(shown(value) for value in values)
        case inspect.IntType(ge=least, le=most):
            return f"a whole number from {least:g} to {most:g} {extra.get(UNIT, '')}".rstrip()
        case inspect.FloatType(ge=least, le=most):
            return f"a number from {least:g} to {most:g} {extra.get(UNIT, '')}".rstrip()
        case inspect.DateType():
            return "a date, as 2026-03-02"
        case inspect.ListType():
            return 'a list, as ["one", "two"]'
        case inspect.DictType():
            return "a section of keys and values"
        case inspect.StrType(min_length=least, max_length=most) if most:
            return f"text in quotes, {least or 0} to {most} letters"
        case inspect.StrType(min_length=least) if least:
            return "text in quotes, not empty"
    return "text in quotes"


def description(kind: Any) -> str:
    """What a field is for."""
    return next(
        str((layer.extra_json_schema or {})["description"])
        for layer in _layers(kind)
        if isinstance(layer, inspect.Metadata) and "description" in (layer.extra_json_schema or {})
    )


def example(kind: Any) -> str:
    """What to write where a key of this type is missing."""
    return str(_extra(kind).get(EXAMPLE) or allowed(kind))


def former_names(kind: Any) -> tuple[str, ...]:
    """Names that a field of this type had before."""
    return tuple(_extra(kind).get(WAS, ()))


def shown(value: Any) -> str:
    """A value as TOML has it, shortened to what fits in one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, dict):
        return "a section"
    if isinstance(value, list):
        text = ", ".join("[...]" if isinstance(one, list) else shown(one) for one in value).join("[]")
    else:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    text = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    return text if len(text) <= 60 else f"{text[:57]}..."


def _extra(kind: Any) -> dict[str, Any]:
    """All extra metadata of a type."""
    found: dict[str, Any] = {}
    for layer in _layers(kind):
        if isinstance(layer, inspect.Metadata):
            found = (layer.extra or {}) | found
    return found


def _layers(kind: Any) -> Iterator[inspect.Type]:
    """A type as msgspec sees it: its metadata, then the type itself; None beside it is left out."""
    layer = inspect.type_info(kind)
    while True:
        yield layer
        if isinstance(layer, inspect.Metadata):
            layer = layer.type
        elif isinstance(layer, inspect.UnionType):
            layer = next(one for one in layer.types if not isinstance(one, inspect.NoneType))
        else:
            return
