"""Counts what became of each stretch of speech, for the page of hearing; keeps numbers alone."""

import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from assistant.batch.record.state import State
from assistant.journal.heard_counts import (
    BANDS,
    QUARTER_S,
    Became,
    Quarter,
    band_of,
    day_before,
    write_day,
)
from assistant.ports import Clock
from assistant.station.messages import Heard
from assistant.station.station import Turn

WRITE_EVERY_S = 30.0
"""Between two writes: a power cut loses no more than this."""
_NOT_HEARD_WELL = ("unsure", "twin")
"""Reasons of questions that are asked because of how something was heard."""
_DAY_S = 86_400.0


def became_of(before: State, turn: Turn | None, after: State) -> Became | None:
    """What became of an utterance; None while the station does not listen: it is not judged by that."""
    if not (before.listening or after.listening):
        return None
    if turn is None or not (turn.command is not None or turn.replies):
        return "left_alone"
    if turn.command is None:
        return "not_understood"
    question = after.question
    asked = question is not None and question is not before.question and question.reason in _NOT_HEARD_WELL
    return "asked" if asked else "acted"


class HeardCounter:
    """Counts by quarter hours. `take` belongs to the thread of the loop, `run` to one of its own.

    `noise_dbfs`: level of the room now (dBFS), None where it is not known.
    """

    def __init__(self, folder: Path, clock: Clock, noise_dbfs: Callable[[], float | None]) -> None:
        self._folder = folder
        self._clock = clock
        self._noise_dbfs = noise_dbfs
        self._lock = threading.Lock()
        self._quarters: dict[float, Quarter] = {}
        self._levels: list[float] = []
        self._changed = False

    def take(self, heard: Heard, before: State, turn: Turn | None, after: State) -> None:
        """Count an utterance by what became of it."""
        became = became_of(before, turn, after)
        if became is None:
            return
        wall = self._clock.wall()
        start = wall // QUARTER_S * QUARTER_S
        with self._lock:
            if start not in self._quarters:
                self._begin(wall, start)
            old, level = self._quarters[start], self._noise_dbfs()
            counts = list(old.counts.get(became) or [0] * BANDS)
            counts[band_of(heard.snr_db)] += 1
            if level is not None:
                self._levels.append(level)
            mean = sum(self._levels) / len(self._levels) if self._levels else old.noise_dbfs
            self._quarters[start] = Quarter(
                start,
                old.clock_set and self._clock.wall_trusted(),
                None if mean is None else round(mean, 1),
                {**old.counts, became: tuple(counts)},
            )
            self._changed = True

    def run(self, stop: threading.Event) -> None:
        """Write what was counted until stopped."""
        while not stop.wait(WRITE_EVERY_S):
            self.write()
        self.write()

    def write(self) -> None:
        """Write the day's counts where they changed; where the disk can't be written they wait."""
        with self._lock:
            if not self._changed:
                return
            last = max(self._quarters)
            kept = [one for start, one in sorted(self._quarters.items()) if start // _DAY_S == last // _DAY_S]
            with suppress(OSError):
                write_day(self._folder, kept)
                self._changed = False

    def _begin(self, wall: float, start: float) -> None:
        """A quarter begins; with the day's first, what was kept of the day before a restart is read."""
        if not any(one // _DAY_S == start // _DAY_S for one in self._quarters):
            self._write_yesterday()
            self._quarters = {one.start: one for one in day_before(self._folder, wall)}
        self._levels = []
        self._quarters.setdefault(start, Quarter(start, clock_set=True, noise_dbfs=None, counts={}))

    def _write_yesterday(self) -> None:
        """The last counts before midnight (UTC) may not be on disk yet."""
        if self._changed:
            kept = [one for _, one in sorted(self._quarters.items())]
            with suppress(OSError):
                write_day(self._folder, kept)
            self._changed = False
