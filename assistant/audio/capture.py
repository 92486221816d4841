"""Microphone: the sound card's blocks at 16 kHz, and a clear word when they stop coming."""

from collections.abc import Iterator

from assistant.ports import Pcm


class SoundMicrophone:
    """ports.Microphone on the sound card; blocks are at 16 kHz whatever the device's own rate.

    `device`: a part of its name, "" for the default. SoundError when there is no such device, and from `blocks`
    when it is lost: its stream ended, no block for 1 s, 5 s of exact zeros, or its card is gone.
    """

    def __init__(self, *, device: str = "", block_s: float = 0.032) -> None:
        raise NotImplementedError

    overflows: int
    """Blocks that were lost: the device's own overflows and those that nobody fetched in time."""

    @property
    def rate(self) -> int:
        """Hz of the blocks: 16,000."""
        raise NotImplementedError

    @property
    def latency_s(self) -> float:
        """Seconds from the air to the program, as the device says."""
        raise NotImplementedError

    def blocks(self) -> Iterator[Pcm]:
        """Blocks as they come, until closed; raises SoundError when the device is lost."""
        raise NotImplementedError

    def close(self) -> None:
        """Stop; `blocks` ends. May be called from another thread."""
        raise NotImplementedError
