"""The phases of a batch, and what the table of events says of each event."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any


class Phase(Enum):
    """How far a batch has come."""

    IDLE = "idle"
    POURING = "pouring"
    MIXING = "mixing"
    RESTING = "resting"
    SQUEEZING = "squeezing"
    READY = "ready"
    EXTRUDING = "extruding"


Moves = Mapping[Phase, Phase]
"""Phase in which an event happens -> phase after it; a phase that is missing forbids the event."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """How the cook takes an event back."""

    says: str = "undone_other"
    """Key of the announcement that it was taken back."""
    what: str = "other"
    """What was taken back, for `undone_other`."""
    mass: str | None = None
    """Field of the event with the mass (g) that is taken back."""
    unless_by_clock: bool = False
    """Whether the clock makes the event too, where its timer rings: that can't be taken back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """All that the program knows of one class of events."""

    change: Callable[[Any, Any], Any]
    """State and event -> state after it, the phase left alone."""
    moves: Moves | None = None
    """Where it leads; None: it moves no phase."""
    variant: str | None = None
    """Field of the event that picks its moves from `moves_by`."""
    moves_by: Mapping[str, Moves] = field(default_factory=dict)
    """Where it leads, by the value of `variant`."""
    in_a_batch: bool = True
    """Whether an event that moves no phase needs an open batch."""
    undone: Undone | None = None
    """How it is taken back; None: it can't be."""
    timer: Callable[[Any], str | None] = lambda _: None
    """Name of the timer that an event is about."""
    ends_intervals: bool = False
    """Whether mixing and resting are over by it."""
    line: str | None = None
    """Key of its line on the batch sheet, in `sheets.toml`; None: it has none."""

    @property
    def moves_a_phase(self) -> bool:
        """Whether the table says where it leads."""
        return self.moves is not None or self.variant is not None

    def moves_of(self, event: Any) -> Moves:
        """Where this event leads."""
        if self.variant is not None:
            return self.moves_by[getattr(event, self.variant)]
        if self.moves is not None:
            return self.moves
        return {phase: phase for phase in Phase if phase is not Phase.IDLE or not self.in_a_batch}
