"""Speakers: the sound card, a file that keeps the whole conversation, and none."""

from collections.abc import Callable
from pathlib import Path

from assistant.ports import Pcm, Sound


class SoundSpeaker:
    """ports.Speaker on the sound card.

    `device`: a part of its name, "" for the default. `volume`: 1.0 plays sound as it is, up to 4.0 louder (limited,
    never clipped). `on_finished` is called from the audio thread when it has fallen silent; it must only post.
    SoundError when there is no such device.
    """

    def __init__(
        self,
        *,
        device: str = "",
        volume: float = 1.0,
        latency: float | str = "low",
        on_finished: Callable[[], None] | None = None,
    ) -> None:
        raise NotImplementedError

    volume: float
    """0.0 to 4.0; holds for what is played from now on."""

    dropped: int
    """Sounds that were not queued because a minute of sound was waiting."""

    @property
    def latency_s(self) -> float:
        """Seconds from the program to the air, as the device says."""
        raise NotImplementedError

    def play(self, sound: Sound) -> None:
        """Start playing after what is queued; returns at once. SoundError when the device is lost."""
        raise NotImplementedError

    def stop(self) -> None:
        """Fall silent within a block and forget what is queued."""
        raise NotImplementedError

    @property
    def busy(self) -> bool:
        """Whether sound is still coming out, the device's own delay included."""
        raise NotImplementedError

    @property
    def lost(self) -> bool:
        """Whether the device went away; build a new speaker."""
        raise NotImplementedError

    def wait_finished(self, timeout_s: float) -> bool:
        """Wait until not busy; False when the time ran out first."""
        raise NotImplementedError

    def close(self) -> None:
        """Let the device go."""
        raise NotImplementedError


class FileSpeaker:
    """ports.Speaker that mixes everything at its time into one recording; `now` is a clock's monotonic."""

    def __init__(self, now: Callable[[], float], *, rate: int = 22_050) -> None:
        raise NotImplementedError

    @property
    def ends_at(self) -> float:
        """When it will be silent, on the clock of `now`."""
        raise NotImplementedError

    def mix(self, sound: Sound, at: float) -> None:
        """Add someone else's sound, the cook's say, at a time of the clock."""
        raise NotImplementedError

    def recording(self) -> Sound:
        """All of it, from the time it was made."""
        raise NotImplementedError

    def save(self, path: Path) -> None:
        """Write the recording as a WAV file; SoundError when it can't be."""
        raise NotImplementedError


class NullSpeaker:
    """ports.Speaker that says nothing and is never busy."""


def amplify(pcm: Pcm, volume: float) -> Pcm:
    """Louder or softer without clipping: linear up to 0.7 of full scale, then a knee that never reaches it."""
    raise NotImplementedError
