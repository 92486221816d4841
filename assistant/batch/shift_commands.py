"""Commands of the day around the batch: walk-throughs."""

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
