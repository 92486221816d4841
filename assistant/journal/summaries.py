"""One line a batch, kept beside the events so that a list of batches reads no million of them. Pure.

Lines are derived: the events remain the record, and a full replay makes all lines anew.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from assistant.batch.record.commands import Condition, Verdict
from assistant.batch.record.events import ConditionTold, CrumbJudged, Event, Withdrawn
from assistant.batch.record.state import Batch, State
from assistant.ports import Stamp

Outcome = Literal["open", "closed", "dropped", "taken back"]
_ENDINGS: dict[str, Outcome] = {"BatchClosed": "closed", "BatchDropped": "dropped", "Withdrawn": "taken back"}


@dataclass(frozen=True, slots=True)
class BatchLine:
    """A batch in short: masses g, hydration percent, wall times s since 1970 (to be believed where trusted).

    `ended_wall` is None while it is open; `crumb` is the last verdict.
    """

    number: int
    opened_wall: float
    opened_trusted: bool
    ended_wall: float | None
    ended_trusted: bool
    lot: str | None
    flour_g: float
    water_g: float
    hydration_pct: float
    crumb: Verdict | None
    outcome: Outcome
    recipe: str | None = None


@dataclass(frozen=True, slots=True)
class LotBatch:
    """A closed batch of a named lot: wall time of its end (s), final hydration (%), and what each squeeze said.

    `squeezes`: verdict and hydration (%), oldest first; `told`: conditions (C, %). Neither holds what was taken back.
    """

    number: int
    lot: str
    recipe: str | None
    ended_wall: float
    hydration_pct: float
    squeezes: tuple[tuple[Verdict, float], ...] = ()
    told: tuple[tuple[Condition, float], ...] = ()


def lot_batch(
    number: int,
    lot: str,
    recipe: str | None,
    ended_wall: float,
    hydration_pct: float,
    events: Iterable[Event],
) -> LotBatch:
    """A batch of a lot, from its events; what was taken back is left out."""
    squeezes: list[CrumbJudged] = []
    conditions: list[ConditionTold] = []
    for event in events:
        match event:
            case CrumbJudged():
                squeezes.append(event)
            case ConditionTold():
                conditions.append(event)
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
        tuple((one.verdict, one.hydration_pct) for one in squeezes),
        tuple({one.what: one.value for one in conditions}.items()),
    )


def batch_of(before: State, after: State) -> int | None:
    """Number of the batch that an event between these states belongs to; None for one of the station's."""
    batch = after.batch or before.batch
    return batch.number if batch else None


def lines_after(before: State, event: Event, after: State, stamp: Stamp) -> list[BatchLine]:
    """Lines of the batches that an event changed, as they stand after it."""
    old, new = before.batch, after.batch
    lines = []
    if old is not None and (new is None or new.number != old.number):
        lines.append(_line(old, _ENDINGS[type(event).__name__], stamp))
    if new is not None and new is not old:
        lines.append(_line(new, "open", stamp))
    return lines


def succeed(old: BatchLine | None, new: BatchLine) -> BatchLine:
    """The new line of a batch; when it was opened is told by its first."""
    if old is None:
        return new
    return replace(new, opened_wall=old.opened_wall, opened_trusted=old.opened_trusted)


def _line(batch: Batch, outcome: Outcome, stamp: Stamp) -> BatchLine:
    ended = outcome != "open"
    return BatchLine(
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
