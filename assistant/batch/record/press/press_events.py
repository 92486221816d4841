"""What happened at the press beside the trays themselves."""

from assistant.batch.record.events import Event, event


@event
class DieCleaned(Event):
    """The die was cleaned, as the cook says; the rest of the machine was not."""


@event
class TraysSlowed(Event):
    """It was called, once in this batch, that its trays come slower than they did."""

    batch: int
    slower_pct: float
    """By how much more time a tray takes (%)."""
    usual_s: float
    """Time of a tray that it was held against (s)."""
