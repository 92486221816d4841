"""Half-duplex: what the microphone hears while we speak is our own voice, so nobody else gets to hear it.

Law: the gate is closed while the speaker is busy and for `tail_s` after. A closed gate turns a block into silence
of the same length, so that the endpointer's clock goes on; what it cut through is known by `clipped`.
"""

from collections import deque

import numpy as np

from assistant.ports import SPEECH_RATE, Pcm

TAIL_S = 0.2
"""Seconds that stay deaf after the last sample left the device: the microphone's own delay and the room.

The microphone still heard us 120 ms after the last sample; 150 to 250 ms was enough (measured)."""

EDGE_S = 0.1
"""Speech that touches an edge of a closed stretch within this many seconds counts as cut by it."""

_REMEMBERED = 64


class Gate:
    """Says which blocks of the microphone may be listened to. Pure: time is an argument.

    `headset`: the microphone can't hear the speaker; the gate never closes.
    """

    def __init__(self, *, tail_s: float = TAIL_S, headset: bool = False, rate: int = SPEECH_RATE) -> None:
        self._tail_s = tail_s
        self._headset = headset
        self._rate = rate
        self._samples = 0
        self._deaf_until = float("-inf")
        self._closed: deque[tuple[float, float]] = deque(maxlen=_REMEMBERED)

    def is_open(self, now: float, busy: bool) -> bool:
        """Whether a block that arrives `now` (s) may be heard; `busy`: the speaker's, its output latency included."""
        if self._headset:
            return True
        if busy:
            self._deaf_until = now + self._tail_s
            return False
        return now >= self._deaf_until

    def hear(self, block: Pcm, now: float, busy: bool) -> Pcm:
        """The block, or silence of the same length while the gate is closed. Call for every block, in order."""
        start = self._samples / self._rate
        self._samples += len(block)
        if self.is_open(now, busy):
            return block
        end = self._samples / self._rate
        if self._closed and self._closed[-1][1] == start:
            start = self._closed.pop()[0]
        self._closed.append((start, end))
        return np.zeros_like(block)

    def clipped(self, start: float, end: float) -> bool:
        """Whether our own voice cut into, or right before or after, this stretch of the stream (s): half a sentence.

        A command that was cut means something else ("one hundred" of "one hundred and fifty"): ask, don't log.
        """
        return any(shut < end + EDGE_S and start - EDGE_S < opened for shut, opened in self._closed)
