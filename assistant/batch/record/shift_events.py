"""What happened in the shift around the batch: walk-throughs, the die, trays, the cutter."""

from typing import Literal

from assistant.batch.record.events import Event, event
from assistant.batch.record.steps import Step

Outcome = Literal["done", "skipped"]


@event
class WalkBegan(Event):
    """A walk-through began, with these steps."""

    walk: str
    steps: tuple[Step, ...]


@event
class StepSettled(Event):
    """A step was done or skipped, as the cook says."""

    walk: str
    step: int
    """Its number, from 1."""
    text: str
    """What it asked for."""
    outcome: Outcome
    safety: bool


@event
class StepBack(Event):
    """The cook went back to an earlier step."""

    walk: str
    step: int
    """Its number, from 1."""


@event
class WalkLeft(Event):
    """The open walk-through was left where it is."""

    walk: str


@event
class WalkResumed(Event):
    """One that was left goes on."""

    walk: str


@event
class WalkEnded(Event):
    """All steps are settled."""

    walk: str
    skipped: int
    """How many of them were skipped."""


@event
class DieWarmed(Event):
    """The edges come clean, as the cook says; what came before was trimmed."""


@event
class CrumbLeft(Event):
    """It was mentioned that the crumb has been ready for a while."""

    again_at: float | None = None
    """When it is mentioned instead, because something more urgent was said; None: it was mentioned."""


@event
class TrayChilled(Event):
    """A tray is down to cold holding, as the cook says; its clock is gone."""

    batch: int
    tray: int
    seconds: float
    """Time since the first wet contact of its dough; where `limit_s` is None, since it was filled."""
    limit_s: float | None = None
    """Time that it had from there; None: four hours, as all had in 0.1.0."""


@event
class CleanDownCalled(Event):
    """It was called that clean down is due."""

    batch: int
    """Batch that first made the machine unclean."""
    due: float
    """When it is due."""
    again_at: float | None = None
    """When it is called instead, because something more urgent was said; None: it was called."""


@event
class CutterTold(Event):
    """The cutter runs at this speed."""

    speed: float
    length_mm: float | None = None
    """Length of its pieces as measured; None: not measured yet."""


@event
class CookNamed(Event):
    """Somebody else cooks from now on, as was said."""

    cook: str
