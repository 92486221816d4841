"""How the sheet shows each event: the key of its line in `sheets.toml`, and what it shows beyond that.

The line's wording may use every field of the event. What an event shows beyond its line is in `DETAILS`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from assistant.batch.decide.trays import LIMIT_S
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.state import INTERVALS, MIX, REST
from assistant.sheets.sheet import Phrase

LINES: dict[type[ev.Event], str | None] = {
    ev.BatchOpened: "opening",
    ev.WaterAdded: "water",
    ev.FlourAdded: "flour",
    ev.EntryCorrected: "correction",
    ev.EntryWeighed: "weighed",
    ev.Withdrawn: None,
    ev.TargetSet: "target",
    ev.LotNamed: "lot",
    ev.RecipeChosen: None,
    ev.ConditionTold: "condition",
    ev.CrumbJudged: "crumb",
    ev.MixStarted: "mix",
    ev.MixEnded: None,
    ev.RestStarted: "rest",
    ev.RestEnded: None,
    ev.ExtrudingStarted: "extruding",
    ev.DieNamed: "die",
    ev.ScrapWeighed: "scrap",
    ev.TrayFilled: "tray",
    ev.PortionsCounted: "portions",
    ev.BatchClosed: "closed",
    ev.BatchDropped: "dropped",
    ev.TimerSet: None,
    ev.TimerExtended: "extended",
    ev.TimerStopped: None,
    ev.TimerWarned: None,
    ev.TimerRang: None,
    ev.TimerCalled: None,
    ev.TimerAcknowledged: None,
    ev.QuestionAsked: "asked",
    ev.QuestionSettled: None,
    ev.ListeningSet: None,
    ev.LoudnessSet: None,
    ev.PaceSet: None,
    ev.StationStarted: "restarted",
    sh.WalkBegan: "walk_begun",
    sh.StepSettled: "walk_step",
    sh.StepBack: None,
    sh.WalkLeft: "walk_left",
    sh.WalkResumed: "walk_resumed",
    sh.WalkEnded: "walk_over",
    sh.DieWarmed: "die_warm",
    sh.TrayChilled: "tray_cold",
    sh.CutterTold: "cutter",
}
"""Key of an event's line in `[lines]`; None: it has no line. A withdrawal has that of what it takes back."""


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
    ev.ScrapWeighed: Detail(entry=True),
    ev.EntryCorrected: Detail(entry=True),
    ev.EntryWeighed: Detail(source=False),
    ev.TargetSet: Detail(notes={"marks": _always}),
    ev.MixStarted: Detail(interval=MIX),
    ev.RestStarted: Detail(interval=REST),
    ev.ExtrudingStarted: Detail(notes={"early": lambda event: event.early}),
    ev.TimerExtended: Detail(when=lambda event: event.name in INTERVALS),
    ev.QuestionAsked: Detail(notes={"reason": _always}),
    ev.StationStarted: Detail(notes={"time_off_unknown": lambda event: not event.certain}),
    sh.StepSettled: Detail(
        notes={
            "step_skipped": lambda event: event.outcome == "skipped",
            "step_of_safety": lambda event: event.safety,
        }
    ),
    sh.WalkEnded: Detail(notes={"steps_skipped": lambda event: event.skipped > 0}),
    sh.TrayChilled: Detail(
        notes={"tray_after": _always, "tray_late": lambda event: event.seconds >= LIMIT_S}
    ),
}
_PLAIN = Detail()


def detail_of(event: ev.Event) -> Detail:
    """What an event's line shows beyond its wording."""
    return DETAILS.get(type(event), _PLAIN)


def line_of(event: ev.Event, kind: str | None) -> Phrase | None:
    """The line of an event, or None; `kind`: of the entry that it is about, None where it is about none."""
    key = LINES[type(event)]
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
