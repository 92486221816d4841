"""How a batch went through the die, from its events: mass, time at the press, trays, heat. Pure."""

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from statistics import median

from assistant.batch.record import events as ev
from assistant.batch.record.batch import Batch
from assistant.batch.record.phases import Phase
from assistant.dough.calculators.die_heat import energy_kj_per_kg
from assistant.dough.calculators.throughput import DieRun
from assistant.dough.ranges import DOUGH_C
from assistant.journal.reader import Passage
from assistant.ports import Stamp
from assistant.sheets.fragment import passages

Read = Callable[[int], Iterable[tuple[Stamp, ev.Event]]]
"""Number of a batch -> its events."""


def run_of(events: Iterable[tuple[Stamp, ev.Event]]) -> DieRun | None:
    """The run of a closed batch, from its events, oldest first from its opening on.

    None where nothing can be said: it is not closed, was never at the press, changed its die there, or the
    station was off for an unknown time.
    """
    return run_along(passages(events))


def run_along(along: Iterable[Passage]) -> DieRun | None:
    """The same, from the events between their states."""
    fold = _Fold()
    for passage in along:
        fold.take(passage)
    return fold.run()


class _Fold:
    """Adds up the time at the press."""

    def __init__(self) -> None:
        self._at = 0.0
        self._seconds = 0.0
        self._before = 0.0
        self._boot: str | None = None
        self._trays: dict[int, float] = {}
        self._batch: Batch | None = None
        self._closed = False
        self._unsure = False
        self._dies: set[str | None] = set()

    def take(self, passage: Passage) -> None:
        """Take in the next event."""
        stamp, before, event, after = passage
        if isinstance(event, ev.StationStarted):
            # The press had no power either: what the clock says in between is not its time.
            self._at, self._unsure = event.at, self._unsure or not event.certain
        elif self._boot not in (None, stamp.boot):
            self._unsure = True
        elif before.phase is Phase.EXTRUDING:
            self._seconds += event.at - self._at
        self._boot, self._at = stamp.boot, event.at
        if isinstance(event, ev.ExtrudingStarted):
            self._before = self._seconds
        elif isinstance(event, ev.Withdrawn) and event.what == "ExtrudingStarted":
            self._seconds = self._before
        elif isinstance(event, ev.TrayFilled):
            self._trays[event.tray] = self._seconds
        self._closed = isinstance(event, ev.BatchClosed) or (self._closed and after.batch is None)
        self._batch = after.batch or before.batch or self._batch
        if self._batch is not None and after.phase is Phase.EXTRUDING:
            self._dies.add(self._batch.die)

    def run(self) -> DieRun | None:
        """What came of it."""
        batch = self._batch
        named = self._dies - {None}
        if batch is None or not self._closed or self._unsure or self._seconds <= 0 or len(named) > 1:
            return None
        trays = [at for tray, at in sorted(self._trays.items()) if tray <= batch.trays]
        return DieRun(
            die=next(iter(named), None),
            grams=batch.product_g,
            seconds=_to_the_end(self._seconds, trays),
            gaps_s=batch.at_die.gaps_s,
            energies=tuple(_energies(batch)),
            exit_c=max((one.celsius for one in batch.at_die.exits), default=None),
        )


def _to_the_end(closed_s: float, trays_s: Sequence[float]) -> float:
    """Time at the press (s). What is closed long after the last tray was not at the press all that time.

    What comes sooner than a tray takes is a tray that was not full: its dough needed that time.
    """
    if not trays_s:
        return closed_s
    gaps = [later - sooner for sooner, later in pairwise(trays_s)] or [trays_s[0]]
    return closed_s if closed_s - trays_s[-1] <= median(gaps) else trays_s[-1]


def _energies(batch: Batch) -> Iterable[float]:
    """Specific energies by the temperatures that were told, where the dough's was told too (kJ/kg)."""
    dough_c = dict(batch.conditions).get("dough")
    if dough_c is None or not DOUGH_C.least <= dough_c <= DOUGH_C.most or batch.water_g <= 0:
        return
    for reading in batch.at_die.exits:
        found = energy_kj_per_kg(batch.hydration_pct, dough_c, reading.celsius)
        if found is not None:
            yield found


def runs_of(numbers: Iterable[int], read: Read) -> list[DieRun]:
    """Runs of these batches, those of which nothing can be said left out."""
    return [run for number in numbers if (run := run_of(read(number))) is not None]
