"""A summary a batch, kept beside the events so that a list of batches reads no million of them. Pure.

Summaries are derived: the events remain the record, and a full replay makes all of them again.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from assistant.batch.record.batch import Batch
from assistant.batch.record.commands import Condition, Verdict
from assistant.batch.record.events import (
    BatchClosed,
    BatchDropped,
    ConditionTold,
    CrumbJudged,
    Event,
    Withdrawn,
)
from assistant.batch.record.state import State
from assistant.dough.evidence import Squeeze
from assistant.ports import Stamp

Outcome = Literal["open", "closed", "dropped", "taken back"]
_ENDINGS: dict[type[Event], Outcome] = {
    BatchClosed: "closed",
    BatchDropped: "dropped",
    Withdrawn: "taken back",
}
"""What an event that leaves no batch, or another one, makes of the batch before it."""
OF_A_LOT = (CrumbJudged, ConditionTold, BatchClosed, Withdrawn)
"""Events of a batch that `lot_batch` reads."""


@dataclass(frozen=True, slots=True)
class BatchSummary:
    """A batch in short: the columns of table `batches`, in their order."""

    number: int
    opened_wall: float
    """Wall time of the opening (s since 1970)."""
    opened_trusted: bool
    """Whether that is to be believed."""
    ended_wall: float | None
    """Wall time of the end (s since 1970); None while it is open."""
    ended_trusted: bool
    """Whether that is to be believed; false while it is open."""
    lot: str | None
    """Lot of the flour; None: not named."""
    flour_g: float
    water_g: float
    """Water (g), that of the recipe's additions with it."""
    hydration_pct: float
    crumb: Verdict | None
    """The last verdict; None: not judged since the last entry."""
    outcome: Outcome
    recipe: str | None = None
    """Name of the recipe; None: made without one."""


@dataclass(frozen=True, slots=True)
class LotBatch:
    """A closed batch of a named lot, without what was taken back."""

    number: int
    lot: str
    recipe: str | None
    """Name of the recipe; None: made without one."""
    ended_wall: float
    """Wall time of the end (s since 1970)."""
    hydration_pct: float
    """Hydration at its end (%)."""
    squeezes: tuple[Squeeze, ...] = ()
    """Every verdict with the hydration it was given at (%), oldest first."""
    conditions: tuple[tuple[Condition, float], ...] = ()
    """Conditions that the cook reported (C, %), the last of each."""
    far: bool = False
    """Whether it was closed far outside its marks."""
    cook: str | None = None
    """Who judged it last; None: not known."""
    station: str | None = None
    """Station of the group that made it; None: this one."""


def lot_batch(
    events: Iterable[Event],
    *,
    number: int,
    lot: str,
    recipe: str | None,
    ended_wall: float,
    hydration_pct: float,
) -> LotBatch:
    """A batch of a lot, from its events; what was taken back is left out."""
    squeezes: list[CrumbJudged] = []
    conditions: list[ConditionTold] = []
    far = False
    for event in events:
        match event:
            case CrumbJudged():
                squeezes.append(event)
            case ConditionTold():
                conditions.append(event)
            case BatchClosed():
                far = event.far
            case Withdrawn(what="CrumbJudged") if squeezes:
                squeezes.pop()
            case Withdrawn(what="ConditionTold") if conditions:
                conditions.pop()
    return LotBatch(
        number,
        lot,
        recipe,
        ended_wall,
        hydration_pct,
        tuple(one.squeeze for one in squeezes),
        tuple({one.what: one.value for one in conditions}.items()),
        far,
        squeezes[-1].cook if squeezes else None,
    )


def batch_of(before: State, after: State) -> int | None:
    """Number of the batch that an event between these states belongs to; None for one of the station's."""
    batch = after.batch or before.batch
    return batch.number if batch else None


def summaries_after(before: State, event: Event, after: State, stamp: Stamp) -> list[BatchSummary]:
    """Summaries of the batches that an event changed, as they are after it."""
    old, new = before.batch, after.batch
    found = []
    if old is not None and (new is None or new.number != old.number):
        found.append(_summary(old, _ENDINGS[type(event)], stamp))
    if new is not None and new is not old:
        found.append(_summary(new, "open", stamp))
    return found


def keep_opening(old: BatchSummary | None, new: BatchSummary) -> BatchSummary:
    """The new summary of a batch, with the time of its opening from the one before."""
    if old is None:
        return new
    return replace(new, opened_wall=old.opened_wall, opened_trusted=old.opened_trusted)


def _summary(batch: Batch, outcome: Outcome, stamp: Stamp) -> BatchSummary:
    ended = outcome != "open"
    return BatchSummary(
        number=batch.number,
        opened_wall=stamp.wall,
        opened_trusted=stamp.wall_trusted,
        ended_wall=stamp.wall if ended else None,
        ended_trusted=ended and stamp.wall_trusted,
        lot=batch.lot,
        flour_g=batch.flour_g,
        water_g=batch.water_g,
        hydration_pct=batch.hydration_pct,
        crumb=batch.crumb,
        outcome=outcome,
        recipe=batch.recipe,
    )
