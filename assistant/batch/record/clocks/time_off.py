"""How long the station was off, where its clock could not tell at the start. Values only."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KnownTime:
    """A moment whose wall time is known. The journal keeps it by the names of its fields."""

    at: float
    """Station time (s)."""
    wall: float
    """Wall time then (s since 1970)."""


@dataclass(frozen=True, slots=True)
class TimeOff:
    """A time without power that counts as nothing until the clock is set. Times are station times (s)."""

    since: float
    """The start after it: what is told before that may be longer ago."""
    known: KnownTime
    """The last moment before it whose wall time was known, as if it had been off for no time."""
    again: float | None = None
    """A start after another time off, whose length nothing tells; None: there was none."""

    def length_s(self, at: float, wall: float) -> float:
        """How long it was off (s), by a station time and the wall time that is known of it."""
        return (wall - at) - (self.known.wall - self.known.at)
