"""Samples that wait for the sound card."""

from collections import deque
from threading import Lock

import numpy as np

from assistant.ports import Pcm


class SampleQueue:
    """Samples that wait to be played, `limit` at most; one thread puts, the audio thread takes."""

    def __init__(self, limit: int) -> None:
        self._limit = limit
        self._chunks: deque[Pcm] = deque()
        self._at = 0
        self._lock = Lock()

    def put(self, pcm: Pcm) -> bool:
        """Queue all of it; where that would be more than the limit, nothing, and return False."""
        with self._lock:
            if self._waiting() + len(pcm) > self._limit:
                return False
            if len(pcm):
                self._chunks.append(pcm)
            return True

    def take(self, out: Pcm) -> int:
        """Fill `out` from its start with what waits, the rest with silence.

        Returns the number of samples that were sound.
        """
        filled = 0
        with self._lock:
            while self._chunks and filled < len(out):
                chunk = self._chunks[0]
                part = chunk[self._at : self._at + len(out) - filled]
                out[filled : filled + len(part)] = part
                filled += len(part)
                self._at += len(part)
                if self._at == len(chunk):
                    self._chunks.popleft()
                    self._at = 0
        out[filled:] = 0
        return filled

    def cut(self, fade: int) -> None:
        """Forget everything but the next `fade` samples, which fall to silence: a hard cut would click."""
        with self._lock:
            if not self._chunks:
                return
            last = self._chunks[0][self._at : self._at + fade]
            slope = np.linspace(1, 0, len(last), dtype=np.float32)
            self._chunks = deque([(last * slope).astype(np.int16)])
            self._at = 0

    @property
    def empty(self) -> bool:
        """Whether nothing waits."""
        return not self._chunks

    def _waiting(self) -> int:
        return sum(map(len, self._chunks)) - self._at
