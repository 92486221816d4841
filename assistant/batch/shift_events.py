"""Events of the day around the batch: walk-throughs. As in `events`, `at` is station time (s)."""

from dataclasses import dataclass
from typing import Literal

from assistant.batch.steps import Step

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
