"""What all stations of a group know of their flour lots: the own journal, and the copy of the others'."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from heapq import merge
from pathlib import Path
from typing import Protocol

from assistant.journal.summaries import LotBatch
from assistant.sync.group_file import read_flour


class OwnLots(Protocol):
    """The station's own journal."""

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> Sequence[LotBatch]:
        """Closed batches of the lots last used, and of the lot `also`; oldest first within a lot."""


class GroupLots:
    """Closed batches of a lot by all stations of the group."""

    def __init__(self, own: OwnLots, file: Path) -> None:
        self._own = own
        self._file = file

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """As `OpenJournal.lot_batches`, of the lots last used here or elsewhere; others' name their station.

        The lot last used here comes first.
        """
        here = self._own.lot_batches(lots, batches, also=also)
        there = [
            replace(batch, station=station) for station, batch in read_flour(self._file, lots, batches, also)
        ]
        if not there:
            return list(here)
        # A lot of this kitchen that others use too, and is old there, was not among those.
        missing = {batch.lot for batch in here} - {batch.lot for batch in there}
        for lot in sorted(missing):
            there += [
                replace(batch, station=station) for station, batch in read_flour(self._file, 0, batches, lot)
            ]
        return _together(here, there, lots, batches, also)


def _together(
    here: Sequence[LotBatch], there: Sequence[LotBatch], lots: int, batches: int, also: str | None
) -> list[LotBatch]:
    used: dict[str, float] = {}
    for batch in (*here, *there):
        used[batch.lot] = max(batch.ended_wall, used.get(batch.lot, batch.ended_wall))
    first = here[0].lot if here and here[0].lot != also else None
    order = sorted(used, key=lambda lot: (lot != first, -used[lot]))
    kept = [lot for i, lot in enumerate(order) if i < lots or lot == also]
    found: list[LotBatch] = []
    for lot in kept:
        sources: dict[str | None, list[LotBatch]] = {}
        for batch in (*here, *there):
            if batch.lot == lot:
                sources.setdefault(batch.station, []).append(batch)
        in_time = [batch for _, batch in merge(*map(_by_time, sources.values()), key=lambda one: one[0])]
        found += in_time[-batches:]
    return found


def _by_time(batches: Iterable[LotBatch]) -> list[tuple[float, LotBatch]]:
    """Batches of one station in its own order, each with a time that never goes back: a clock may have."""
    found: list[tuple[float, LotBatch]] = []
    for batch in sorted(batches, key=lambda one: one.number):
        found.append((max(batch.ended_wall, found[-1][0] if found else batch.ended_wall), batch))
    return found
