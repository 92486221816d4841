"""Which sound device: found by a part of its name, never by a number that changes with every boot."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Direction = Literal["input", "output"]


@dataclass(frozen=True, slots=True)
class Device:
    """A sound device: its index in PortAudio, name, channels each way, and its own rate (Hz)."""

    index: int
    name: str
    inputs: int
    outputs: int
    rate: int


def choose(devices: Sequence[Device], part: str, direction: Direction, default: int | None = None) -> Device:
    """The device whose name holds `part` in any case, "" for the default; SoundError when none or several do."""
    raise NotImplementedError


def list_devices() -> list[Device]:
    """Every device that PortAudio knows of; SoundError when the library is missing."""
    raise NotImplementedError


def rescan() -> None:
    """Make PortAudio look for devices anew. Every stream must be closed first: one owner reopens all."""
    raise NotImplementedError
