"""What went into the hopper besides flour and water, and what was taken out of it again. Masses in g."""

from assistant.batch.record.commands import TakenOutOf
from assistant.batch.record.events import Event, Source, event


@event
class AdditionAdded(Event):
    """An addition of the recipe went in."""

    entry: int
    grams: float
    name: str
    water_pct: float
    """Its water content (% of its own mass), as the batch's plan has it."""
    source: Source


@event
class AdditionLeftOut(Event):
    """An addition of the recipe does not come into this batch."""

    name: str


@event
class TakenOut(Event):
    """Something was taken out of the hopper again; dough takes flour and water with it in their shares."""

    entry: int
    grams: float
    what: TakenOutOf
    source: Source
