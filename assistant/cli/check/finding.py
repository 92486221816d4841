"""What `crumbcall check` finds of one part."""

from collections.abc import Callable
from dataclasses import dataclass

from assistant.errors import CrumbcallError


@dataclass(frozen=True, slots=True)
class Finding:
    """One part: whether it works, whether the station can't do without it, what was found, what to do."""

    part: str
    works: bool
    needed: bool
    found: str
    do: str = ""


def tried(part: str, needed: bool, look: Callable[[], str], do: str) -> Finding:
    """A finding from a look that says what it found or raises."""
    try:
        return Finding(part, True, needed, look())
    except CrumbcallError as error:
        return Finding(part, False, needed, str(error), do)
