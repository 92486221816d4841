"""Change of sampling rate by libsoxr: one-shot for what we say, streaming for what we hear.

The stream's filter holds back 20 to 40 ms (measured with 20 ms blocks, 48 and 44.1 kHz to 16 kHz).
"""

from typing import Any

import numpy as np

from assistant.ports import Pcm, Sound


class Resampler:
    """A stream of int16 blocks from one rate (Hz) to another; blocks may come out later or empty."""

    def __init__(self, source_rate: int, target_rate: int) -> None:
        self._stream: Any = None
        if source_rate != target_rate:
            import soxr

            self._stream = soxr.ResampleStream(source_rate, target_rate, 1, dtype="int16")

    def feed(self, block: Pcm) -> Pcm:
        """What is ready after this block."""
        return block if self._stream is None else self._pass(block, last=False)

    def flush(self) -> Pcm:
        """What was still inside; the stream is over."""
        nothing = np.zeros(0, np.int16)
        return nothing if self._stream is None else self._pass(nothing, last=True)

    def _pass(self, block: Pcm, *, last: bool) -> Pcm:
        out: Pcm = self._stream.resample_chunk(block, last=last)
        return out


def resample(sound: Sound, rate: int) -> Sound:
    """The same sound at another rate (Hz)."""
    if sound.rate == rate or not len(sound.pcm):
        return Sound(sound.pcm, rate)
    import soxr

    return Sound(soxr.resample(sound.pcm, sound.rate, rate), rate)
