"""What a day leaves for the chef's folder: batches, cooling tray by tray, cleaning, who. Pure.

Times come from the stamps under which the events were written. Nothing is made up: what nobody said is left
out here, and left to be written by hand on paper.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import tzinfo

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.clocks.clock_events import TimeOffKnown
from assistant.batch.record.clocks.food_rules import COLD_WITHIN_S
from assistant.batch.record.rules import DayFigures
from assistant.config.flour_lots import StockedLot
from assistant.journal.summaries import BatchSummary
from assistant.ports import Stamp
from assistant.sheets.build import build_sheet
from assistant.sheets.day_account import NO_STOCK, day_of
from assistant.sheets.known_later import known_later
from assistant.sheets.sheet import Moment, Sheet

AFTER_S = 86_400.0
"""A tray of the day may be told cold up to this long after the day's end (s)."""


@dataclass(frozen=True, slots=True)
class Cooling:
    """A tray on its way to cold holding."""

    batch: int
    tray: int
    filled: Moment
    limit_s: float
    """Time from its first wet contact in which it has to be cold."""
    wet: Moment | None = None
    """First wet contact of its dough; None: it counts from its filling, as in 0.1.0."""
    cold: Moment | None = None
    """When the cook called it cold; None: nobody did."""
    took_s: float | None = None
    """From first wet contact to cold."""
    certain: bool = True
    """False where the station was off for an unknown time meanwhile."""

    @property
    def is_late(self) -> bool:
        """Whether it was called cold after its time."""
        return self.took_s is not None and self.took_s >= self.limit_s


@dataclass(frozen=True, slots=True)
class Walked:
    """A walk-through, as opening check or clean down."""

    name: str
    began: Moment
    ended: Moment | None = None
    """None: it was not ended."""
    skipped: int = 0
    """Steps that were skipped."""


@dataclass(frozen=True, slots=True)
class DayRecord:
    """All of a day."""

    day: str
    """As 2026-03-02."""
    figures: DayFigures
    batches: tuple[Sheet, ...]
    cooling: tuple[Cooling, ...]
    walks: tuple[Walked, ...]
    cooks: tuple[str, ...]
    """Who judged the crumb."""
    scrap_g: float
    """Of all these batches, those that were dropped too."""
    stock: Mapping[str, StockedLot] = field(default_factory=dict)
    """Lots on the shelf, as the kitchen wrote them down."""
    station: str = ""
    """Name of the station that prints it; empty: it is not printed."""

    @property
    def clock_set(self) -> bool:
        """Whether the wall clock was set at every time of it."""
        moments = [*(one.opened for one in self.batches), *(one.filled for one in self.cooling)]
        moments += [one.began for one in self.walks]
        return all(one.wall_trusted for one in moments)


def day_record(
    day: str,
    events: Iterable[tuple[Stamp, ev.Event]],
    batches: Sequence[BatchSummary],
    read: Callable[[int], Iterable[tuple[Stamp, ev.Event]]],
    figures: DayFigures,
    zone: tzinfo | None = None,
    *,
    stock: Mapping[str, StockedLot] = NO_STOCK,
) -> DayRecord:
    """The record of a day.

    `events`: from the day's begin on, those before or after it are left out. `read`: number of a batch -> its
    events. `zone`: the kitchen's, None for the machine's.
    """
    fold = _Fold(day, zone)
    for stamp, event in known_later(events):
        fold.take(stamp, event)
    sheets = [build_sheet(read(one.number)) for one in batches if _is_of(one, day, zone)]
    return DayRecord(
        day=day,
        figures=figures,
        batches=tuple(sheets),
        cooling=tuple(fold.cooling),
        walks=tuple(fold.walks),
        cooks=tuple(dict.fromkeys(fold.cooks)),
        scrap_g=sum(one.scrap_g for one in sheets),
        stock=stock,
    )


def _is_of(one: BatchSummary, day: str, zone: tzinfo | None) -> bool:
    walls = [one.opened_wall, *([one.ended_wall] if one.ended_wall is not None else [])]
    return one.outcome != "taken back" and day in {day_of(wall, zone) for wall in walls}


class _Fold:
    """Follows the events of a day. A withdrawal takes back the last event of its name."""

    def __init__(self, day: str, zone: tzinfo | None) -> None:
        self._day = day
        self._zone = zone
        self.cooling: list[Cooling] = []
        self.walks: list[Walked] = []
        self.cooks: list[str] = []
        self._chilled: list[int] = []

    def take(self, stamp: Stamp, event: ev.Event) -> None:
        """Take in the next event."""
        now = Moment(0.0, stamp.wall, stamp.wall_trusted)
        today = day_of(stamp.wall, self._zone) == self._day
        match event:
            case ev.TrayFilled() if today and event.due is not None:
                self.cooling.append(_filled(event, now))
            case sh.TrayChilled():
                self._chill(event, now)
            case ev.Withdrawn(what="TrayFilled") if today and self.cooling:
                self.cooling.pop()
            case ev.Withdrawn(what="TrayChilled") if self._chilled:
                place = self._chilled.pop()
                self.cooling[place] = replace(self.cooling[place], cold=None, took_s=None)
            case sh.WalkBegan() if today:
                self.walks.append(Walked(event.walk, now))
            case sh.WalkEnded():
                self._end(event, now)
            case ev.CrumbJudged() if today and event.cook:
                self.cooks.append(event.cook)
            case ev.StationStarted() if not event.certain:
                self.cooling = [one if one.cold else replace(one, certain=False) for one in self.cooling]
            case TimeOffKnown() if event.wholly:
                self.cooling = [one if one.cold else replace(one, certain=True) for one in self.cooling]

    def _chill(self, event: sh.TrayChilled, now: Moment) -> None:
        for place, one in enumerate(self.cooling):
            if (one.batch, one.tray) == (event.batch, event.tray) and one.cold is None:
                self.cooling[place] = replace(one, cold=now, took_s=event.seconds)
                self._chilled.append(place)

    def _end(self, event: sh.WalkEnded, now: Moment) -> None:
        for place in reversed(range(len(self.walks))):
            one = self.walks[place]
            if one.name == event.walk and one.ended is None:
                self.walks[place] = replace(one, ended=now, skipped=event.skipped)
                return


def _filled(event: ev.TrayFilled, now: Moment) -> Cooling:
    wet = None if event.since is None else now.plus(event.since - event.at)
    limit = (
        COLD_WITHIN_S if event.due is None else event.due - (event.at if wet is None else event.since or 0)
    )
    return Cooling(event.batch, event.tray, now, limit, wet=wet, certain=event.certain)
