"""How the sheet shows each event: the line that its row names, and what the line shows beyond its wording.

The line's wording in `sheets.toml` may use every field of the event. A withdrawal has the line of what it
takes back.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.clocks.food_rules import COLD_WITHIN_S
from assistant.batch.record.evolving.transitions import TABLE
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.timer_kinds import INTERVALS
from assistant.sheets.sheet import Phrase


def _always(_event: Any) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Detail:
    """What a line shows beyond its wording."""

    when: Callable[[Any], bool] = _always
    """Which events of the class are shown."""
    notes: Mapping[str, Callable[[Any], bool]] = field(default_factory=dict)
    """Keys in `[notes]`, each with the events that have this note."""
    entry: bool = False
    """Whether it puts a mass in the account: shown with the hydration after it, struck once corrected."""
    interval: str | None = None
    """Name of the timer that the event starts, where the line says how long it really ran."""
    source: bool = True
    """Whether who reported it has its own column; False where the wording names it."""


DETAILS: dict[type[ev.Event], Detail] = {
    ev.BatchOpened: Detail(entry=True),
    ev.WaterAdded: Detail(entry=True),
    ev.FlourAdded: Detail(entry=True),
    hop.AdditionAdded: Detail(entry=True),
    hop.TakenOut: Detail(entry=True),
    ev.ScrapWeighed: Detail(entry=True),
    ev.EntryCorrected: Detail(entry=True),
    ev.EntryWeighed: Detail(source=False),
    ev.TargetSet: Detail(notes={"marks": _always}),
    ev.MixStarted: Detail(interval="mix"),
    ev.RestStarted: Detail(interval="rest"),
    ev.CrumbJudged: Detail(notes={"far_ready": lambda event: event.far}),
    ev.BatchClosed: Detail(notes={"far_closed": lambda event: event.far}),
    ev.ExtrudingStarted: Detail(notes={"early": lambda event: event.early}),
    ev.TimerExtended: Detail(when=lambda event: event.name in INTERVALS),
    # That a value was missing concerns nobody once it was said.
    ev.QuestionAsked: Detail(
        notes={"reason": _always}, when=lambda event: event.reason not in ("missing", "said_wrong")
    ),
    ev.StationStarted: Detail(notes={"time_off_unknown": lambda event: not event.certain}),
    sh.StepSettled: Detail(
        notes={
            "step_skipped": lambda event: event.outcome == "skipped",
            "step_of_safety": lambda event: event.safety,
        }
    ),
    sh.WalkEnded: Detail(notes={"steps_skipped": lambda event: event.skipped > 0}),
    sh.CleanDownCalled: Detail(when=lambda event: event.again_at is None),
    sh.TrayChilled: Detail(
        notes={
            "tray_after": _always,
            "tray_late": lambda event: event.seconds >= (event.limit_s or COLD_WITHIN_S),
        }
    ),
}
_PLAIN = Detail()


def detail_of(event: ev.Event) -> Detail:
    """What an event's line shows beyond its wording."""
    return DETAILS.get(type(event), _PLAIN)


def line_of(event: ev.Event, kind: str | None) -> Phrase | None:
    """The line of an event, or None; `kind`: of the entry that it is about, None where it is about none."""
    key = TABLE[type(event)].line
    if key is None or not detail_of(event).when(event):
        return None
    return Phrase(f"lines.{key}", {**_values(event), "kind": kind})


def notes_of(event: ev.Event) -> list[Phrase]:
    """The notes of an event's line."""
    return [
        Phrase(f"notes.{key}", _values(event)) for key, when in detail_of(event).notes.items() if when(event)
    ]


def _values(event: ev.Event) -> dict[str, Any]:
    return {one.name: getattr(event, one.name) for one in fields(event)}
