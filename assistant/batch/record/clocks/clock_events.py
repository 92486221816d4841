"""What happened to the clock: it was told, a time off became known, and what rang in doubt was heard."""

from assistant.batch.record.events import Event, event


@event
class TimeOffKnown(Event):
    """The clock was set since the start: what was told before it is so much longer ago."""

    off: float
    """How long the station was off (s)."""
    since: float
    """The start after that: what was told before it is so much longer ago; what came later is not."""
    wholly: bool = True
    """False where it was off once more since, for a time that nothing tells."""
    told: bool = False
    """Whether a cook told the time, and no time server."""


@event
class TimerDoubted(Event):
    """A timer that rang only because it may be over was heard: it runs on till it certainly is."""

    name: str


@event
class TimeTold(Event):
    """A cook told the time, where nothing else had set the clock."""

    wall: float
    """Wall time (s since 1970)."""
    hour: int
    """As it was told: of the twelve."""
    minute: int
    """Minutes past it; below zero, to it."""
