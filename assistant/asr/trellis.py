"""The forward half of decoding: the best score with which every word can have ended in every frame.

Frame-synchronous Viterbi over a `PhoneGraph`, all states at once; it can be fed while the cook still speaks.
"""

import numpy as np
from numpy.typing import NDArray

from assistant.asr.phone_graph import PhoneGraph

Scores = NDArray[np.float32]
NEVER = np.float32(-1e30)
"""Score of what can't be: finite, so that its sums stay numbers."""


class Trellis:
    """Scores of one utterance as they grow, frame by frame; sentences begin in the state `start`."""

    def __init__(self, graph: PhoneGraph, blank: int, boundary: int, start: int = 0) -> None:
        self.graph = graph
        self.start = start
        self.blank = blank
        self.boundary = boundary
        n_phones, n_states = len(graph.label), graph.words.n_states
        self._phone = np.full(n_phones, NEVER, dtype=np.float32)
        self._blank = np.full(n_phones, NEVER, dtype=np.float32)
        self._junction = np.full(n_states, NEVER, dtype=np.float32)
        self._junction[start] = 0.0
        self._arrived = np.full(n_states, NEVER, dtype=np.float32)
        self._direct = np.full(len(graph.entry_source), NEVER, dtype=np.float32)
        self._step = np.empty(n_phones, dtype=np.float32)
        self._emission = np.empty(n_phones, dtype=np.float32)
        self._closing = np.full(graph.n_chains + 1, NEVER, dtype=np.float32)
        self._ends: list[Scores] = []
        self._frames: list[Scores] = []

    def feed(self, log_probs: Scores) -> None:
        """Take the next frames: log-probabilities, shape (frames, symbols)."""
        block = np.asarray(log_probs, dtype=np.float32)
        between = np.maximum(block[:, self.blank], block[:, self.boundary])
        for frame, passing in zip(block, between, strict=True):
            self._advance(frame, passing)
        self._frames.append(block)

    @property
    def log_probs(self) -> Scores:
        """All that was fed, shape (frames, symbols)."""
        return np.concatenate(self._frames)

    @property
    def ends(self) -> Scores:
        """Best score of a path in whose frame t chain c is in its last phone, shape (chains, frames)."""
        return np.ascontiguousarray(np.stack(self._ends, axis=1))

    def _advance(self, frame: Scores, passing: np.float32) -> None:
        graph, phone, blank, step = self.graph, self._phone, self._blank, self._step
        entry = np.maximum(self._direct, self._junction[graph.entry_source])
        np.maximum(self._junction, self._arrived, out=self._junction)
        self._junction += passing

        step[1:] = phone[:-1]
        step[graph.first] = entry[graph.chain_entry]
        step[graph.repeated] = NEVER
        np.maximum(step, phone, out=step)
        np.maximum(step, blank, out=step)
        blank[1:] = np.maximum(blank[1:], phone[:-1])
        blank[graph.first] = NEVER
        blank += frame[self.blank]
        np.take(frame, graph.label, out=self._emission)
        np.add(step, self._emission, out=phone)

        closing = self._closing
        closing[:-1] = phone[graph.last]
        self._arrived[graph.reached] = np.maximum.reduceat(closing[:-1], graph.reached_start)
        self._direct[: graph.words.n_states] = self._arrived
        if len(graph.barred):
            self._direct[graph.words.n_states :] = np.maximum.reduceat(
                closing[graph.barred], graph.barred_start
            )
        self._ends.append(closing[:-1].copy())
