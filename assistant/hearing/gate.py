"""Half-duplex: what the microphone hears while we speak is our own voice, and nothing may act on that.

Rule: the gate is closed while the speaker is busy and for `tail_s` after. A closed gate turns a block into
silence of the same length, so that the endpointer's clock goes on; what it cut through is known by `clipped`.
"""

from collections import deque
from threading import Lock

import numpy as np

from assistant.ports import SPEECH_RATE, Pcm

TAIL_S = 0.2
"""Seconds that stay deaf after the last sample left the speaker: the microphone's own delay and the room.

The microphone still heard us 120 ms after the last sample; 150 to 250 ms were enough (measured)."""

EDGE_S = 0.1
"""Speech this near (s) to a closed stretch counts as cut by it: edges are found to 0.05 s (measured)."""

_REMEMBERED = 64


class Gate:
    """Says which blocks of the microphone may be listened to. Time is an argument.

    `headset`: the microphone can't hear the speaker; the gate never closes. `hear` belongs to the one thread
    that takes the blocks as they come; `clipped` may be asked from any.
    """

    def __init__(self, *, tail_s: float = TAIL_S, headset: bool = False, rate: int = SPEECH_RATE) -> None:
        self._tail_s = tail_s
        self._headset = headset
        self._rate = rate
        self._samples = 0
        self._deaf_until = float("-inf")
        self._closed: deque[tuple[float, float]] = deque(maxlen=_REMEMBERED)
        self._lock = Lock()

    def hear(self, block: Pcm, now: float, busy: bool) -> Pcm:
        """The block, or silence of the same length while the gate is closed. Call for every block, in order.

        `now`: when it came (s, monotonic). `busy`: the speaker's, its output latency included.
        """
        start = self._samples / self._rate
        self._samples += len(block)
        if busy:
            self._deaf_until = now + self._tail_s
        if self._headset or not (busy or now < self._deaf_until):
            return block
        end = self._samples / self._rate
        with self._lock:
            if self._closed and self._closed[-1][1] == start:
                start = self._closed.pop()[0]
            self._closed.append((start, end))
        return np.zeros_like(block)

    def clipped(self, start: float, end: float) -> bool:
        """Whether our own voice cut into this stretch of the stream (s), or touched its edges.

        A command that was cut means something else ("one hundred" of "one hundred and fifty"): ask, don't
        log.
        """
        with self._lock:
            return any(shut < end + EDGE_S and start - EDGE_S < opened for shut, opened in self._closed)
