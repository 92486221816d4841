"""Change of sampling rate: one-shot for what we say, streaming for what we hear."""

from assistant.ports import Pcm, Sound


class Resampler:
    """A stream of int16 blocks from one rate (Hz) to another; blocks may come out later or empty."""

    def __init__(self, source_rate: int, target_rate: int) -> None:
        raise NotImplementedError

    def feed(self, block: Pcm) -> Pcm:
        """What is ready after this block."""
        raise NotImplementedError

    def flush(self) -> Pcm:
        """What was still inside; the stream is over."""
        raise NotImplementedError


def resample(sound: Sound, rate: int) -> Sound:
    """The same sound at another rate (Hz)."""
    raise NotImplementedError
