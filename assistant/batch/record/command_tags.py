"""What makes a class a command."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar, dataclass_transform

Class = TypeVar("Class")
TAGS: dict[type[Any], str] = {}
"""Command classes, with their names in the grammar and in JSON."""


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def command(tag: str, *, was: tuple[str, ...] = ()) -> Callable[[type[Class]], type[Class]]:
    """Make a class a command: a frozen dataclass, called `tag` in the grammar and in JSON.

    `was`: names of the class under which a journal may hold it.
    """

    def make(kind: type[Class]) -> type[Class]:
        made = dataclass(frozen=True, slots=True)(kind)
        made.WRITTEN_AS = was  # type: ignore[attr-defined]
        TAGS[made] = tag
        return made

    return make
