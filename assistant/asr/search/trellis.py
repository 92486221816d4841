"""The forward half of decoding: the best score with which every word can have ended in every frame.

Frame-synchronous Viterbi over a `PhoneGraph`, all states at once; it can be fed while the cook still speaks.
"""

import math

import numpy as np
from numpy.typing import NDArray

from assistant.asr.search.phone_graph import Lists, PhoneGraph
from assistant.ports import Overtaken, Wanted, always

Scores = NDArray[np.float32]
NEVER = np.float32(-1e30)
"""Score of what can't be: finite, so that its sums stay numbers."""


class Trellis:
    """Scores of one utterance as they grow, frame by frame; sentences begin in the state `start`.

    `begins`: with which score (log-probability) a sentence may begin in each frame, shape (frames,); None: in
    the first one alone.
    `beam`: how far behind the best path (log-probability) a junction or the end of a word may be for another
    word to follow. Few are near at any time, and only these are followed.
    """

    def __init__(
        self,
        graph: PhoneGraph,
        blank: int,
        boundary: int,
        start: int = 0,
        beam: float = math.inf,
        begins: Scores | None = None,
    ) -> None:
        self.graph = graph
        self.begins = begins
        self._beam = beam
        self._far = float(NEVER) / 2
        self.start = start
        self.blank = blank
        self.boundary = boundary
        n_phones, n_states = len(graph.label), graph.words.n_states
        self._phone = np.full(n_phones, NEVER, dtype=np.float32)
        self._blank = np.full(n_phones, NEVER, dtype=np.float32)
        self._junction = np.full(n_states, NEVER, dtype=np.float32)
        self._junction[start] = 0.0
        self._direct = np.full(len(graph.entry_source), NEVER, dtype=np.float32)
        self._gate = np.full(int(graph.gate.max(initial=-1)) + 1, NEVER, dtype=np.float32)
        self._step = np.empty(n_phones, dtype=np.float32)
        self._emission = np.empty(n_phones, dtype=np.float32)
        self._ends: list[Scores] = []
        self._best: list[float] = []
        self._frames: list[Scores] = []

    def feed(self, log_probs: Scores, wanted: Wanted = always) -> None:
        """Take the next frames: log-probabilities, shape (frames, symbols).

        Raises Overtaken once the result is not `wanted` any more.
        """
        block = np.asarray(log_probs, dtype=np.float32)
        between = np.maximum(block[:, self.blank], block[:, self.boundary])
        ends = np.full((len(block), self.graph.n_chains), NEVER, dtype=np.float32)
        for frame, passing, closing in zip(block, between, ends, strict=True):
            if not wanted():
                raise Overtaken
            self._advance(frame, passing, closing)
        self._frames.append(block)
        self._ends.append(ends)

    @property
    def log_probs(self) -> Scores:
        """All that was fed, shape (frames, symbols)."""
        return np.concatenate(self._frames)

    @property
    def ends(self) -> Scores:
        """Best score of a path in whose frame t chain c is in its last phone, shape (frames, chains)."""
        return self._ends[0] if len(self._ends) == 1 else np.concatenate(self._ends)

    def near(self, beam: float) -> NDArray[np.bool_]:
        """Steps that in some frame end no further than `beam` behind the best path there, shape (steps,)."""
        ends = self.ends
        found = np.zeros(len(self.graph.steps), dtype=np.bool_)
        best = np.array(self._best, dtype=np.float32)[:, np.newaxis]
        found[self.graph.step[(ends >= best - np.float32(beam)).any(axis=0)]] = True
        return found

    def _advance(self, frame: Scores, passing: np.float32, closing: Scores) -> None:
        """Take a frame; `closing` receives the score of each chain's last phone."""
        graph, phone, blank, step = self.graph, self._phone, self._blank, self._step
        if self.begins is not None:
            self._junction[self.start] = max(self._junction[self.start], self.begins[len(self._best)])
        entry = np.maximum(self._direct, self._junction[graph.entry_source])
        self._spread(entry, graph.opens, self._gate)
        np.maximum(self._junction, self._direct[: graph.words.n_states], out=self._junction)
        self._junction += passing

        step[1:] = phone[:-1]
        step[graph.first] = self._gate[graph.gate]
        step[graph.repeated] = NEVER
        np.maximum(step, phone, out=step)
        np.maximum(step, blank, out=step)
        np.maximum(blank[1:], phone[:-1], out=blank[1:])
        blank[graph.first] = NEVER
        blank += frame[self.blank]
        np.take(frame, graph.label, out=self._emission, mode="clip")
        np.add(step, self._emission, out=phone)

        np.take(phone, graph.last, out=closing, mode="clip")
        best = float(max(phone.max(initial=NEVER), blank.max(initial=NEVER), self._junction.max()))
        self._best.append(best)
        self._far = max(best - self._beam, float(NEVER) / 2)
        self._spread(closing, graph.follows, self._direct)

    def _spread(self, scores: Scores, lists: Lists, into: Scores) -> None:
        """Give every row's score to the items of its list, where it is near; an item keeps the best."""
        near = np.flatnonzero(scores > self._far)
        items, counts = lists.joined(near)
        into.fill(NEVER)
        np.maximum.at(into, items, np.repeat(scores[near], counts))
