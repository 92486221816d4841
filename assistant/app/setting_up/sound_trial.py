"""Which microphone and speaker of this machine work: each is tried, and named by what fits it alone."""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from threading import Event
from typing import Protocol

from assistant.app.adapters import open_microphone, open_speaker, tones
from assistant.audio.sound_cards import Device, Direction, choose, list_devices
from assistant.config.settings import Settings
from assistant.errors import SoundError

LISTEN_BLOCKS = 30
"""About a second of sound."""


class SoundDevices(Protocol):
    """The sound devices of a machine, as setting up asks about them."""

    def names(self, direction: Direction) -> list[str]:
        """What to write in the settings for each device, those that are most likely meant first."""

    def level_dbfs(self, name: str) -> float:
        """How loud the room is at this microphone (dBFS). Raises SoundError where it sends no sound."""

    def ring(self, name: str) -> None:
        """Play a tone on this speaker, to its end. Raises SoundError."""


@dataclass(frozen=True, slots=True)
class RealDevices:
    """Those of this machine. `devices`: lists them; SoundError where the sound library is missing."""

    settings: Callable[[], Settings]
    devices: Callable[[], list[Device]] = list_devices

    def names(self, direction: Direction) -> list[str]:
        """What to write in the settings for each device; cards come before names that stand for one."""
        able = [one for one in self.devices() if one.channels(direction) > 0]
        return [_part(one, able, direction) for one in sorted(able, key=_likely)]

    def level_dbfs(self, name: str) -> float:
        """How loud the room is at this microphone (dBFS). Raises SoundError where it sends no sound."""
        from assistant.hearing.level import SILENCE_DBFS, level_dbfs

        with closing(open_microphone(self.settings(), name)) as opened:
            blocks = opened.blocks()
            level = max(level_dbfs(next(blocks)) for _ in range(LISTEN_BLOCKS))
        if level <= SILENCE_DBFS:
            raise SoundError(f"{name} sends nothing but zeros; is it muted?")
        return level

    def ring(self, name: str) -> None:
        """Play a tone on this speaker, to its end. Raises SoundError."""
        sound = tones()["ring_firm"]
        with closing(open_speaker(self.settings(), name)) as speaker:
            speaker.play(sound)
            Event().wait(sound.seconds + 0.5)


def _likely(device: Device) -> tuple[bool, bool]:
    """USB cards first, then other cards, then names that stand for another device."""
    return ("usb" not in device.name.casefold(), "(hw:" not in device.name)


def _part(device: Device, able: list[Device], direction: Direction) -> str:
    """The part of a name that stays the same at every start, where it is enough."""
    part = device.name.partition(":")[0].partition(" (hw")[0].strip()
    try:
        return part if choose(able, part, direction) == device else device.name
    except SoundError:
        return device.name


def first_that_works(names: list[str], works: Callable[[str], object]) -> tuple[str | None, list[str]]:
    """The first device that passes, None where none does; and a line of each that does not."""
    failed: list[str] = []
    for name in names:
        try:
            works(name)
        except SoundError as error:
            failed.append(str(error))
        else:
            return name, failed
    return None, failed
