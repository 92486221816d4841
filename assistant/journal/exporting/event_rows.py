"""The events of a journal become rows: a fold over (state before, event, state after). No row is ever lost.

What is taken back stays, marked. What a withdrawal changes is kept with each step that can be undone, so the
memory that it takes follows from how far undo goes, not from how long the journal is.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks.food_rules import COLD_WITHIN_S
from assistant.batch.record.evolving.transitions import TABLE
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.hopper.entries import Entry
from assistant.batch.record.state import State, Undoable
from assistant.config.flour_lots import StockedLot
from assistant.journal.exporting.columns import Table, Value
from assistant.journal.exporting.spool import Spool
from assistant.journal.exporting.tables import BATCHES, CRUMBS, LOTS, POURS, SCRAP, TRAYS
from assistant.journal.exporting.timer_rows import Running, TimerRows
from assistant.journal.reader import Passage
from assistant.journal.summaries import Outcome, summaries_after
from assistant.ports import Stamp

_Change = tuple[Table, int, Mapping[str, Value]]
"""Table, key of a row, and the values that it gets."""
_NEW_ENTRY = (
    ev.BatchOpened, ev.WaterAdded, ev.FlourAdded, ev.ScrapWeighed, hop.AdditionAdded, hop.TakenOut,
)  # fmt: skip
_BACK: Mapping[str, Value] = {"taken_back": True}


@dataclass(slots=True)
class _Step:
    """A step that can be taken back."""

    step: Undoable
    changes: list[_Change] = field(default_factory=list)
    """What its withdrawal changes."""
    running: Running = field(default_factory=dict)
    """Timers that ran or rang before it."""


class Rows:
    """Writes a journal's rows, event by event."""

    def __init__(self, spool: Spool) -> None:
        self._spool = spool
        self._timers = TimerRows(spool)
        self._steps: list[_Step] = []
        self._batch: Batch | None = None
        self._far = False

    def take(self, passage: Passage) -> None:
        """Take in the next event."""
        stamp, before, event, after = passage
        running = dict(self._timers.running) if after.undo is not before.undo else {}
        changes: list[_Change] = []
        if isinstance(event, ev.Withdrawn):
            taken = self._steps[-1]
            for change in taken.changes:
                self._spool.change(*change)
            self._timers.restore(stamp, before, after, taken.running)
        else:
            changes = self._rows(stamp, event, after)
            self._timers.take(passage)
        self._remember(before, event, after, changes, running)
        self._follow_batch(stamp, before, event, after)

    def finish(self, stock: Mapping[str, StockedLot]) -> None:
        """Write what is known when all events are in: the open batch, and the lots."""
        if self._batch is not None:
            self._spool.change(BATCHES, self._batch.number, _batch_values(self._batch, "open", far=False))
        used = set[str]()
        for lot, batches, flour_g, first, last, certain in self._spool.lots():
            used.add(lot)
            values: dict[str, Value] = {"lot": lot, "batches": batches, "flour_g": flour_g}
            values |= {"first_used_at": first, "last_used_at": last, "used_certain": certain}
            self._spool.put(LOTS, values | _stocked(stock.get(lot)))
        for lot in stock.keys() - used:
            unused: dict[str, Value] = {"lot": lot, "batches": 0, "flour_g": 0.0}
            self._spool.put(LOTS, unused | _stocked(stock[lot]))

    def _rows(self, stamp: Stamp, event: ev.Event, after: State) -> list[_Change]:
        """Write the rows of an event; what its withdrawal would change of them."""
        batch = after.batch
        if batch is not None and isinstance(event, _NEW_ENTRY):
            if isinstance(event, ev.BatchOpened):
                self._open(stamp, batch)
            return [self._enter(stamp, batch, batch.entries[-1])]
        match event:
            case ev.EntryCorrected() if batch is not None:
                table = _table_of(batch, event.entry)
                self._spool.change(table, event.entry, {"grams": event.grams})
                return [(table, event.entry, {"grams": event.was})]
            case ev.EntryWeighed() if batch is not None:
                self._spool.change(_table_of(batch, event.entry), event.entry, {"weighed_g": event.grams})
            case ev.CrumbJudged() if batch is not None:
                self._judge(stamp, event, batch)
                return [(CRUMBS, stamp.sequence, _BACK)]
            case ev.TrayFilled() if batch is not None:
                self._spool.put(TRAYS, _tray_values(stamp, event, batch))
                return [(TRAYS, stamp.sequence, _BACK)]
            case sh.TrayChilled():
                return self._chill(stamp, event)
        return []

    def _open(self, stamp: Stamp, batch: Batch) -> None:
        self._spool.put(
            BATCHES,
            {
                "batch": batch.number,
                "opened_at": stamp.wall,
                "opened_certain": stamp.wall_trusted,
                **_batch_values(batch, "open", far=False),
            },
        )

    def _judge(self, stamp: Stamp, event: ev.CrumbJudged, batch: Batch) -> None:
        values: dict[str, Value] = {"sequence": stamp.sequence, "batch": batch.number, **_at(stamp)}
        values |= {"verdict": event.verdict, "hydration_pct": event.hydration_pct, "far": event.far}
        self._spool.put(CRUMBS, values | {"cook": event.cook or None, "taken_back": False})

    def _enter(self, stamp: Stamp, batch: Batch, entry: Entry) -> _Change:
        values: dict[str, Value] = {"entry": entry.number, "batch": batch.number, **_at(stamp)}
        values |= {"grams": entry.grams, "told_g": entry.grams, "source": entry.source, "taken_back": False}
        if entry.kind == "scrap":
            self._spool.put(SCRAP, values)
            return SCRAP, entry.number, _BACK
        values |= {"kind": entry.kind, "ingredient": entry.name, "hydration_pct": batch.hydration_pct}
        if entry.kind == "addition":
            values["water_pct"] = entry.water_pct
        self._spool.put(POURS, values)
        return POURS, entry.number, _BACK

    def _chill(self, stamp: Stamp, event: sh.TrayChilled) -> list[_Change]:
        key = self._timers.tray_row(event.batch, event.tray)
        if key is None:
            return []
        limit_s = COLD_WITHIN_S if event.limit_s is None else event.limit_s
        values: dict[str, Value] = {"cold_at": stamp.wall, "took_s": event.seconds, "limit_s": limit_s}
        values["in_time"] = event.seconds <= limit_s
        self._spool.change(TRAYS, key, values)
        return [(TRAYS, key, dict.fromkeys(("cold_at", "took_s", "limit_s", "in_time")))]

    def _remember(
        self,
        before: State,
        event: ev.Event,
        after: State,
        changes: list[_Change],
        running: Running,
    ) -> None:
        """Keep with each step that can be undone what its withdrawal changes."""
        if after.undo is before.undo:
            return
        if TABLE[type(event)].undone is None and len(before.undo) == len(after.undo):
            # The same steps, but not the same objects: a restart moves their times, for one.
            pairs = zip(after.undo, self._steps, strict=True)
            self._steps = [_Step(step, old.changes, old.running) for step, old in pairs]
            return
        known = {id(one.step): one for one in self._steps}
        self._steps = [known.get(id(step)) or _Step(step, changes, running) for step in after.undo]

    def _follow_batch(self, stamp: Stamp, before: State, event: ev.Event, after: State) -> None:
        if isinstance(event, ev.BatchClosed):
            self._far = event.far
        if before.batch is not None and after.batch is None:
            for ended in summaries_after(before, event, after, stamp):
                values = _batch_values(before.batch, ended.outcome, far=self._far)
                values |= {"ended_at": stamp.wall, "ended_certain": stamp.wall_trusted}
                self._spool.change(BATCHES, ended.number, values)
            self._far = False
        elif before.batch is None and after.batch is not None and isinstance(event, ev.Withdrawn):
            self._spool.change(BATCHES, after.batch.number, {"ended_at": None, "ended_certain": None})
        self._batch = after.batch


def _table_of(batch: Batch, number: int) -> Table:
    """The table that an entry of the account is in."""
    is_scrap = any(one.number == number and one.kind == "scrap" for one in batch.entries)
    return SCRAP if is_scrap else POURS


def _at(stamp: Stamp) -> dict[str, Value]:
    return {"at": stamp.wall, "at_certain": stamp.wall_trusted}


def _tray_values(stamp: Stamp, event: ev.TrayFilled, batch: Batch) -> dict[str, Value]:
    """A full tray. Its times are station times: they are told by how long before or after now they are."""
    since = event.at if event.since is None else event.since
    return {
        "sequence": stamp.sequence,
        "batch": event.batch or batch.number,
        "tray": event.tray,
        **_at(stamp),
        "since_at": stamp.wall - (event.at - since),
        "cold_by_at": None if event.due is None else stamp.wall + (event.due - event.at),
        "rang_at": None if event.next_call is None else stamp.wall,
        "length_certain": event.certain,
        "taken_back": False,
    }


def _batch_values(batch: Batch, outcome: Outcome, *, far: bool) -> dict[str, Value]:
    told = dict(batch.conditions)
    plan = batch.plan
    return {
        "outcome": outcome,
        "far": far,
        "recipe": batch.recipe,
        "lot": batch.lot,
        "die": batch.die,
        "target_pct": batch.target_pct,
        "low_pct": batch.low_pct,
        "high_pct": batch.high_pct,
        "flour_g": batch.flour_g,
        "water_g": batch.water_g,
        "dry_g": batch.dry_g,
        "scrap_g": batch.scrap_g,
        "hydration_pct": batch.hydration_pct,
        "crumb": batch.crumb,
        "trays": batch.trays,
        "portions": batch.portions,
        "kitchen_c": told.get("kitchen"),
        "dough_c": told.get("dough"),
        "exit_c": told.get("exit"),
        "humidity_pct": told.get("humidity"),
        "gluten_free": batch.gluten_free,
        "allergens": "; ".join(plan.allergens if plan else ()) or None,
        "carried_over": "; ".join(batch.carried_over) or None,
    }


def _stocked(lot: StockedLot | None) -> dict[str, Value]:
    if lot is None:
        return {}
    return {
        "flour": lot.flour,
        "supplier": lot.supplier or None,
        "received": lot.received.isoformat() if lot.received else None,
        "best_before": lot.best_before.isoformat() if lot.best_before else None,
        "delivered_kg": lot.delivered_kg,
        "granulation": lot.granulation,
        "grain_um": lot.grain_um,
        "moisture_pct": lot.moisture_pct,
    }
