"""Which sound device: found by a part of its name, never by a number that changes with every boot."""

import importlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from assistant.errors import SoundError

Direction = Literal["input", "output"]

CARDS = Path("/proc/asound/cards")

_WHAT = {"input": "microphone", "output": "speaker"}


@dataclass(frozen=True, slots=True)
class Device:
    """A sound device."""

    index: int
    """Its number in PortAudio; changes with every boot."""
    name: str
    inputs: int
    """Channels in."""
    outputs: int
    """Channels out."""
    rate: int
    """Its own rate (Hz)."""

    def channels(self, direction: Direction) -> int:
        """Channels in that direction."""
        return self.inputs if direction == "input" else self.outputs


def choose(devices: Sequence[Device], part: str, direction: Direction, default: int | None = None) -> Device:
    """The device whose name contains `part` in any case, "" for the one with the index `default`.

    A name that equals `part` wins over those that only contain it. SoundError when none or several do.
    """
    what = _WHAT[direction]
    able = [device for device in devices if device.channels(direction) > 0]
    if not able:
        raise SoundError(f"there is no {what} on this machine; plug one in, or go on without sound")
    if not part:
        for device in able:
            if device.index == default:
                return device
        raise SoundError(f"no {what} is the default; name one of: {_names(able)}")
    found = [device for device in able if part.casefold() in device.name.casefold()]
    exact = [device for device in found if device.name == part]
    if len(exact) == 1:
        return exact[0]
    if not found:
        raise SoundError(f"no {what} has '{part}' in its name; there are: {_names(able)}")
    if len(found) > 1:
        raise SoundError(f"'{part}' fits several: {_names(found)}; name more of the {what} you mean")
    return found[0]


def _names(devices: Sequence[Device]) -> str:
    return ", ".join(f"'{device.name}'" for device in devices)


def portaudio() -> Any:
    """The sounddevice module; SoundError when it can't find the PortAudio library."""
    try:
        return importlib.import_module("sounddevice")
    except (OSError, ImportError) as cause:
        raise SoundError(
            f"the sound library can't be loaded ({cause}); install it with `apt install libportaudio2`"
        ) from cause


def list_devices(library: Any = None) -> list[Device]:
    """Every device that PortAudio knows of; SoundError when the library is missing."""
    library = library or portaudio()
    return [
        Device(
            index=index,
            name=entry["name"],
            inputs=entry["max_input_channels"],
            outputs=entry["max_output_channels"],
            rate=round(entry["default_samplerate"]),
        )
        for index, entry in enumerate(library.query_devices())
    ]


def find(part: str, direction: Direction, library: Any = None) -> Device:
    """The device to open; SoundError as for `choose`."""
    library = library or portaudio()
    default = library.default.device[0 if direction == "input" else 1]
    return choose(list_devices(library), part, direction, default)


def card(device: Device, cards: str) -> str | None:
    """The line that names the device's card in the text of /proc/asound/cards.

    None if it is not an ALSA card there.
    """
    number = re.search(r"\(hw:(\d+),", device.name)
    if number is None:
        return None
    line = re.search(rf"^ *{number.group(1)} \[.*$", cards, re.MULTILINE)
    return line.group() if line else None


def read_cards(path: Path = CARDS) -> str:
    """Text of /proc/asound/cards; empty where there is none."""
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
