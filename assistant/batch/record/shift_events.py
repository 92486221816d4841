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
    """Step number `step` (from 1) was done or skipped, as the cook says; `text`: what it asked for."""

    walk: str
    step: int
    text: str
    outcome: Outcome
    safety: bool


@event
class StepBack(Event):
    """The cook went back to step number `step`."""

    walk: str
    step: int


@event
class WalkLeft(Event):
    """The open walk-through was left where it stands."""

    walk: str


@event
class WalkResumed(Event):
    """One that was left goes on."""

    walk: str


@event
class WalkEnded(Event):
    """All steps are settled, so many of them skipped."""

    walk: str
    skipped: int


@event
class DieWarmed(Event):
    """The edges come clean, as the cook says; what came before was trimmed."""


@event
class TrayChilled(Event):
    """A tray is down to cold holding, as the cook says, `seconds` after it was filled; its clock is gone."""

    batch: int
    tray: int
    seconds: float


@event
class CutterTold(Event):
    """The cutter runs at this speed; `length_mm`: its pieces as measured, or None."""

    speed: float
    length_mm: float | None = None
