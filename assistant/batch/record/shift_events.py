"""Events of the day around the batch: walk-throughs, the die, trays, the cutter. As in `events`, `at` is station time (s)."""

from dataclasses import dataclass
from typing import Literal

from assistant.batch.record.steps import Step

Outcome = Literal["done", "skipped"]


@dataclass(frozen=True, slots=True)
class WalkBegan:
    """A walk-through began, with these steps."""

    at: float
    walk: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class StepSettled:
    """Step number `step` (from 1) was done or skipped, as the cook says; `text`: what it asked for."""

    at: float
    walk: str
    step: int
    text: str
    outcome: Outcome
    safety: bool


@dataclass(frozen=True, slots=True)
class StepBack:
    """The cook went back to step number `step`."""

    at: float
    walk: str
    step: int


@dataclass(frozen=True, slots=True)
class WalkLeft:
    """The open walk-through was left where it stands."""

    at: float
    walk: str


@dataclass(frozen=True, slots=True)
class WalkResumed:
    """One that was left goes on."""

    at: float
    walk: str


@dataclass(frozen=True, slots=True)
class WalkEnded:
    """All steps are settled, so many of them skipped."""

    at: float
    walk: str
    skipped: int


@dataclass(frozen=True, slots=True)
class DieWarmed:
    """The edges come clean, as the cook says; what came before was trimmed."""

    at: float


@dataclass(frozen=True, slots=True)
class TrayChilled:
    """A tray is down to cold holding, as the cook says, `seconds` after it was filled; its clock is gone."""

    at: float
    batch: int
    tray: int
    seconds: float


@dataclass(frozen=True, slots=True)
class CutterTold:
    """The cutter runs at this speed; `length_mm`: its pieces as measured, or None."""

    at: float
    speed: float
    length_mm: float | None = None
