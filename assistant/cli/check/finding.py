"""What `crumbcall check` finds of one part."""

from collections.abc import Callable
from dataclasses import dataclass

from assistant.errors import CrumbcallError


@dataclass(frozen=True, slots=True, kw_only=True)
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


def tried(part: str, look: Callable[[], str], *, do: str, needed: bool = False) -> Finding:
    """A finding from a look that returns what it found or raises; `do`: what to do where it raises."""
    try:
        return Finding(part=part, works=True, needed=needed, found=look())
    except CrumbcallError as error:
        return Finding(part=part, works=False, needed=needed, found=str(error), do=do)
