"""Commands of the day around the batch: walk-throughs, the die, trays, the cutter, cooking."""

from dataclasses import dataclass
from typing import Literal

Move = Literal["done", "next", "back", "skip", "leave"]


@dataclass(frozen=True, slots=True)
class Walk:
    """Begin a walk-through by its name, or go on with one that was left."""

    walk: str


@dataclass(frozen=True, slots=True)
class WalkMove:
    """A move inside the open walk-through; without one it is talk."""

    move: Move


@dataclass(frozen=True, slots=True)
class DieWarm:
    """The edges of the pasta are clean: the die is warm."""


@dataclass(frozen=True, slots=True)
class TrayCold:
    """A tray is down to cold holding; None: the one that waits longest."""

    tray: int | None = None


@dataclass(frozen=True, slots=True)
class Cook:
    """A shape went into the boiling water."""

    name: str


@dataclass(frozen=True, slots=True)
class Cutter:
    """The cutter's speed, the length of the pieces at it (mm), or the length that is wanted (mm)."""

    of: Literal["speed", "length", "want"]
    figure: float
