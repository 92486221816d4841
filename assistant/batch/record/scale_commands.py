"""Commands to the jug scale itself. It answers them where there is one; they change nothing of the batch."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ZeroJug:
    """Call the empty plate of the jug scale zero."""


@dataclass(frozen=True, slots=True)
class ReadJug:
    """Say what the jug scale reads."""


@dataclass(frozen=True, slots=True)
class Calibrate:
    """Calibrate the jug scale: be led through an empty plate and a known weight."""
