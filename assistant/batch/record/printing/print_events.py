"""What the cook asked to be printed, and how that ended."""

from assistant.batch.record.events import Event, event
from assistant.batch.record.printing.print_kinds import PrintedWhat, PrintFailure


@event
class PrintAsked(Event):
    """Something is to be printed."""

    job: int
    what: PrintedWhat
    batch: int | None = None
    """Whose label or sheet; None: that of the day."""
    tray: int | None = None
    """Of a label; None: it is of the batch as a whole, or `every`."""
    every: bool = False
    """A label for each tray."""
    day: str | None = None
    """Of a day's sheet, as 2026-03-02; None: the day on which it is printed."""


@event
class PrintEnded(Event):
    """It is printed, or it is not and is kept."""

    job: int
    failure: PrintFailure | None = None
    """Why it is not printed; None: it is."""
    line: str = ""
    """What was found, what to do: one line."""
    offers: bool = False
    """Whether what was kept before is offered by the way."""


@event
class PrintsTriedAgain(Event):
    """All that was kept is to be printed again."""
