"""What `crumbcall check` finds of one part."""

from collections.abc import Callable
from dataclasses import dataclass

from assistant.errors import CrumbcallError


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found of one part."""

    part: str
    """Its name."""
    works: bool
    needed: bool
    """Whether the station can't do without it."""
    found: str
    """In words."""
    do: str = ""
    """What to do about it; "" for nothing."""


def tried(part: str, needed: bool, look: Callable[[], str], do: str) -> Finding:
    """A finding from a look that says what it found or raises."""
    try:
        return Finding(part, True, needed, look())
    except CrumbcallError as error:
        return Finding(part, False, needed, str(error), do)
