"""Rows of mixes, rests and timers, and of how a tray's clock went, from what becomes of the timers."""

from collections.abc import Mapping

from assistant.batch.record import events as ev
from assistant.batch.record.state import State, Timer
from assistant.batch.record.timer_kinds import tray_name
from assistant.journal.exporting.columns import Value
from assistant.journal.exporting.spool import Spool
from assistant.journal.exporting.tables import TIMERS, TRAYS
from assistant.journal.reader import Passage
from assistant.journal.summaries import batch_of
from assistant.ports import Stamp

_SETS = (ev.MixStarted, ev.RestStarted, ev.TimerSet, ev.TrayFilled)
_ENDS: Mapping[type[ev.Event], str] = {
    ev.MixEnded: "over",
    ev.RestEnded: "over",
    ev.TimerAcknowledged: "heard",
    ev.TimerStopped: "stopped",
}

Running = Mapping[str, tuple[int, float]]
"""Timers by name, each with the key of its row and its length as it was set (s)."""


class TimerRows:
    """Follows the timers. A row's key is the number of the event that set its timer."""

    def __init__(self, spool: Spool) -> None:
        self._spool = spool
        self.running: dict[str, tuple[int, float]] = {}
        """Timers that run or ring."""

    def tray_row(self, batch: int, tray: int) -> int | None:
        """Key of the row of a tray that is not cold yet; None where it has no clock."""
        found = self.running.get(tray_name(batch, tray))
        return found and found[0]

    def take(self, passage: Passage) -> None:
        """Take in an event that is no withdrawal."""
        stamp, before, event, after = passage
        if after.timers is before.timers:
            return
        was, now = _by_name(before), _by_name(after)
        end = _ENDS.get(type(event), "next step")
        for timer in before.timers:
            if timer.name not in now:
                self._end(stamp, timer, end)
        for timer in after.timers:
            old = was.get(timer.name)
            if old is timer:
                continue
            if old is None or (isinstance(event, _SETS) and timer.kind == old.kind):
                if old is not None:
                    self._end(stamp, old, "replaced")
                self._begin(stamp, timer, batch_of(before, after))
            else:
                self._update(stamp, timer, rang=isinstance(event, ev.TimerRang))

    def restore(self, stamp: Stamp, before: State, after: State, running: Running) -> None:
        """Take in a withdrawal; `running`: what ran before the step that is taken back."""
        was, now = _by_name(before), _by_name(after)
        for name in (*was, *(one for one in now if one not in was)):
            if was.get(name) is now.get(name):
                continue
            row, row_then = self.running.get(name), running.get(name)
            if row is not None and row != row_then:
                self._take_back(stamp, was[name], row)
            if name in now and row_then is not None:
                self.running[name] = row_then
                self._reopen(now[name], row_then)

    def _begin(self, stamp: Stamp, timer: Timer, batch: int | None) -> None:
        self.running[timer.name] = (stamp.sequence, timer.seconds)
        if timer.kind == "tray":
            return
        self._spool.put(
            TIMERS,
            {
                "sequence": stamp.sequence,
                "batch": batch,
                "at": stamp.wall,
                "at_certain": stamp.wall_trusted,
                "name": timer.name,
                "kind": timer.kind,
                "seconds": timer.seconds,
                "added_s": 0.0,
                "length_certain": timer.certain,
                "taken_back": False,
            },
        )

    def _take_back(self, stamp: Stamp, timer: Timer, row: tuple[int, float]) -> None:
        """A timer that the step had set is gone; its tray's row is marked with the step itself."""
        del self.running[timer.name]
        if timer.kind != "tray":
            values: dict[str, Value] = {"ended_at": stamp.wall, "end": "stopped", "taken_back": True}
            self._spool.change(TIMERS, row[0], values)

    def _end(self, stamp: Stamp, timer: Timer, how: str) -> None:
        key, _ = self.running.pop(timer.name)
        if timer.kind != "tray":
            self._spool.change(TIMERS, key, {"ended_at": stamp.wall, "end": how})

    def _update(self, stamp: Stamp, timer: Timer, *, rang: bool) -> None:
        values: dict[str, Value] = {"length_certain": timer.certain}
        if rang:
            values["rang_at"] = stamp.wall
        self._change(timer, self.running[timer.name], values)

    def _reopen(self, timer: Timer, row: tuple[int, float]) -> None:
        ends: dict[str, Value] = {} if timer.kind == "tray" else {"ended_at": None, "end": None}
        self._change(timer, row, {"length_certain": timer.certain, **ends})

    def _change(self, timer: Timer, row: tuple[int, float], values: dict[str, Value]) -> None:
        key, seconds = row
        if timer.kind == "tray":
            self._spool.change(TRAYS, key, values)
        else:
            self._spool.change(TIMERS, key, {**values, "added_s": timer.seconds - seconds})


def _by_name(state: State) -> dict[str, Timer]:
    return {timer.name: timer for timer in state.timers}
