"""The kitchen's flour lots: what its batches said of each, and what is forecast from that.

The forecasts are made by `flour_memory`. Drift weighs all that is known of a lot, and is certain late. A
climb is what a cook sees on the last sheets: batch after batch the crumb was ready at more water than the
time before, as of flour that dries in an open bag, or scales that wander. That five in a row are worth a word
is common practice, no source; of batches that only scatter one run of five in 120 looks so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from assistant.dough.censored import Mixture
from assistant.dough.evidence import WINDOW_PCT, Bounds, Squeeze

FAR_PROBABILITY, FAR_BATCHES = 0.01, 3
"""A batch is far from its lot if its end was less probable than this; from this many batches of a lot on."""

CLIMB_BATCHES = 5
"""Batches in a row, each ready higher than the one before, that are called."""
LEAST_CLIMB_PCT = 0.05
"""Higher means by more than this (points): a gram of water on two kilos of flour."""
_ROUNDING = 1e-9

UNNAMED_FLOUR = "flour"
"""Flour type of a lot that the kitchen wrote down nowhere."""
SEASONS = ("Dec-Feb", "Mar-May", "Jun-Aug", "Sep-Nov", "")
"""Quarters of the year in their order; the last is that of a lot without a batch."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Evidence of one batch."""

    day: float
    """When it was closed (days since 1970)."""
    bounds: Bounds
    """What its verdicts say of its end (% hydration)."""
    batch: int = 0
    """Its number."""
    ready_pct: float | None = None
    """Hydration at which its crumb was called ready (%); None: it was not."""
    squeezes: tuple[Squeeze, ...] = ()
    """The verdicts that the bounds follow from; empty: only the bounds are known."""
    cook: str | None = None
    """Who judged it; None: not known."""
    humidity_pct: float | None = None
    """Relative humidity of the kitchen's air as it was told (%); None: it was not."""
    station: str | None = None
    """Station of the group that made it; None: this one."""

    @property
    def name(self) -> str:
        """Its number, with its station where that is another."""
        return str(self.batch) if self.station is None else f"{self.station} {self.batch}"


@dataclass(frozen=True, slots=True)
class LotRecord:
    """A lot and the evidence of its batches."""

    lot: str
    """Its digits, and its recipe where that is not the plain dough."""
    flour: str = UNNAMED_FLOUR
    """Its flour type."""
    moisture_pct: float | None = None
    """Its moisture (%) as measured; None where it was not."""
    seen: tuple[Seen, ...] = ()
    """Evidence of its batches, oldest first."""
    supplier: str = ""
    """Who delivered it; empty: not known."""
    expected_pct: float | None = None
    """Hydration (%) that its flour type is expected around, by its recipe; None: the kitchen's target."""
    recipe: str | None = None
    """Recipe that it is made in; None: the plain dough."""
    newest: int | None = None
    """Number of its newest batch, whether that is evidence or not; None: the newest that is."""

    @property
    def climbed(self) -> int:
        """Batches of the climb that its newest batch ends, without those that were never called ready."""
        return climbed([one.ready_pct for one in self.seen if one.ready_pct is not None])

    @property
    def season(self) -> str:
        """Quarter of the year in which it was first used, by its months: no hemisphere is assumed."""
        return season_of(self.seen[0].day) if self.seen else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The end of the next batch of a lot (% hydration)."""

    lot: str
    flour: str
    """Its flour type."""
    batches: int
    """Batches of the lot that it rests on; 0: nothing is known of this lot."""
    likely_pct: float
    """As likely above the end as below it."""
    low_pct: float
    """Lower edge of the 90 % interval."""
    high_pct: float
    """Upper edge of the 90 % interval."""
    safe_pct: float
    """Below the end with 95 %."""
    noise_pct: float
    """Batch noise as learned (points)."""
    drift_points: float
    """How far the lot moved, by the last change that was heard (points); 0 where none was."""
    moved_now: bool = False
    """Whether its newest batch made that certain: it is told once."""
    window_pct: float = WINDOW_PCT
    """How far beyond the end a crumb is ready, as learned (points)."""
    bias_pct: float = 0.0
    """How late whoever judges now calls a crumb ready (points of hydration; early: negative)."""
    recipe: str | None = None
    """Recipe of the batch; None: the plain dough."""
    climbed: int = 0
    """Batches of the climb that the lot's newest batch ends."""
    ends: Mixture
    """Distribution of the end, outliers included."""
    usual: Mixture
    """Distribution of the end of a batch that is not an outlier."""

    @property
    def known(self) -> bool:
        """Whether there is any batch of this lot."""
        return self.batches > 0

    @property
    def calls_climb(self) -> bool:
        """Whether the lot has climbed long enough to be called, and not long since."""
        return is_climb_called(self.climbed)

    def is_far(self, bounds: Bounds) -> bool:
        """Whether a batch with these bounds on its end is far from what was forecast for its lot."""
        if self.batches < FAR_BATCHES:
            return False
        return min(self.usual.below(bounds.high), 1.0 - self.usual.below(bounds.low)) < FAR_PROBABILITY


@dataclass(frozen=True, slots=True)
class SeasonLine:
    """What a flour type wants in a season."""

    flour: str
    season: str
    lots: int
    """Lots that it rests on."""
    mean_pct: float
    """Mean (% hydration)."""
    low_pct: float
    """Lower edge of the 90 % interval."""
    high_pct: float
    """Upper edge of the 90 % interval."""
    supplier: str = ""
    """Who delivered it; empty: not known."""


def climbed(ready_pcts: Sequence[float]) -> int:
    """How many batches the climb has that the newest batch ends, by their hydrations when ready (%).

    Oldest first; the batch that the climb began from counts. 0 without a batch, 1 where the newest is not
    higher than the one before.
    """
    run = min(1, len(ready_pcts))
    while run < len(ready_pcts) and ready_pcts[-run] - ready_pcts[-run - 1] > LEAST_CLIMB_PCT + _ROUNDING:
        run += 1
    return run


def is_climb_called(batches: int) -> bool:
    """Whether a climb of so many batches is called: with the fifth batch, and with every fifth after it."""
    return batches > 0 and batches % CLIMB_BATCHES == 0


def season_of(day: float) -> str:
    """Quarter of the year of a day (days since 1970), by its months."""
    month = (date(1970, 1, 1) + timedelta(days=int(day))).month
    return SEASONS[month % 12 // 3]


def by_lot(records: Mapping[str, LotRecord]) -> list[LotRecord]:
    """Records with the lot last used first."""
    return sorted(
        records.values(), key=lambda record: record.seen[-1].day if record.seen else 0.0, reverse=True
    )
