"""What of plan and trays belongs into a calendar. Pure.

Each appointment has a name of its own for good, so that a calendar which is written again moves it instead of
adding another.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from uuid import NAMESPACE_URL, uuid5

from assistant.batch.record.state import State
from assistant.batch.record.timer_kinds import tray_of
from assistant.config.day_plan import DayPlan
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import PlannedBatch, ShiftPace, batch_times
from assistant.journal.summaries import BatchSummary
from assistant.ports import Stamp
from assistant.sheets.sheet import Sheet
from assistant.sheets.wording import SheetWords

_OURS = uuid5(NAMESPACE_URL, "crumbcall")
OUR_CALENDAR = str(uuid5(_OURS, "calendar"))
"""Names the calendar itself."""
BEFORE_A_BATCH = timedelta(minutes=10)
"""How long before its start a batch is called: common practice, no source."""
MORNING = timedelta(hours=8)
"""When a day's use-by is called, from midnight."""
_NOTHING = timedelta()


@dataclass(frozen=True, slots=True)
class Alarm:
    """When it is called: so long from its begin, or from its end."""

    after: timedelta
    """Below zero: before."""
    from_end: bool = False


@dataclass(frozen=True, slots=True)
class Appointment:
    """One thing of a calendar."""

    name: str
    """Names it for good."""
    title: str
    note: str
    begin: datetime | date
    """A time with its zone, or a whole day."""
    end: datetime | None = None
    """None: a moment, or a whole day."""
    alarms: tuple[Alarm, ...] = ()

    @property
    def uid(self) -> str:
        """The same as a UUID: RFC 7986, section 5.3."""
        return str(uuid5(_OURS, self.name))


def of_plan(
    plan: DayPlan,
    day: str,
    pace: ShiftPace,
    recipes: Mapping[str, RecipePlan],
    words: SheetWords,
    zone: tzinfo | None,
) -> Iterator[Appointment]:
    """Batches of a plan for this day, as 2026-03-02, each with its rest. `zone`: None: the machine's."""
    for one in plan.batches:
        recipe = recipes.get(one.recipe) if one.recipe else None
        times = batch_times(recipe, one.die, one.flour_g, pace)
        begin = _local(f"{day}T{one.start}", zone)
        rest = _later(begin, times.mix_s)
        pressed = _later(rest, times.rest_s)
        pasta = words.text("calendar.pasta", die=one.die, recipe=one.recipe)
        yield Appointment(
            f"batch {one.key}",
            words.text("calendar.batch", pasta=pasta, portions=one.portions),
            words.text("calendar.batch_note", flour_g=one.flour_g, water_g=round(one.water_g)),
            begin,
            _later(pressed, times.press_s),
            (Alarm(-BEFORE_A_BATCH),),
        )
        if times.rest_s > 0:
            yield _rest(one, pasta, rest, pressed, words)


def _rest(one: PlannedBatch, pasta: str, begin: datetime, end: datetime, words: SheetWords) -> Appointment:
    title, note = words.text("calendar.rest", pasta=pasta), words.text("calendar.rest_note")
    return Appointment(f"rest {one.key}", title, note, begin, end, (Alarm(_NOTHING, from_end=True),))


def of_trays(
    state: State,
    last: Stamp,
    batches: Iterable[BatchSummary],
    warn_s: float,
    words: SheetWords,
    zone: tzinfo | None,
) -> Iterator[Appointment]:
    """When each tray that is not cold has to be. `last`: stamp of the journal's last event.

    `warn_s`: how long before that it is called (s).
    """
    opened = {one.number: one.opened_wall for one in batches}
    for timer in state.timers:
        if timer.kind != "tray":
            continue
        batch, tray = tray_of(timer.name)
        begin = datetime.fromtimestamp(last.wall + timer.due - last.monotonic, zone).astimezone(zone)
        certain = timer.certain and last.wall_trusted
        calls = (timedelta(seconds=-warn_s), _NOTHING) if warn_s > 0 else (_NOTHING,)
        yield Appointment(
            f"tray {batch}.{tray} {opened.get(batch, 0.0):.0f}",
            words.text("calendar.tray", batch=batch, tray=tray),
            words.text("calendar.tray_note" if certain else "calendar.tray_note_unsure"),
            begin.replace(microsecond=0),
            None,
            tuple(Alarm(call) for call in calls),
        )


def of_use_by(
    batches: Iterable[BatchSummary],
    sheet_of: Callable[[int], Sheet],
    days: int,
    today: date,
    words: SheetWords,
    zone: tzinfo | None,
) -> Iterator[Appointment]:
    """Last day of what was made, while that is to come; by the label's days. Without a set clock: none."""
    first = datetime.combine(today - timedelta(days=days), datetime.min.time()).timestamp()
    for line in batches:
        if line.outcome not in ("open", "closed") or line.opened_wall < first:
            continue
        sheet = sheet_of(line.number)
        last = sheet.use_by(days, zone)
        if last is None or last < today or not sheet.trays:
            continue
        die = sheet.dies[-1] if sheet.dies else words.text("label.any_die")
        pasta = words.text("calendar.pasta", die=die, recipe=sheet.recipe)
        yield Appointment(
            f"use by {line.number} {line.opened_wall:.0f}",
            words.text("calendar.use_by", pasta=pasta, batch=line.number, trays=sheet.trays),
            words.text("calendar.use_by_note"),
            last,
            None,
            (Alarm(MORNING),),
        )


def _local(text: str, zone: tzinfo | None) -> datetime:
    """A time of the kitchen's clock; in the hour that comes twice, the first."""
    naive = datetime.fromisoformat(text)
    return naive.astimezone() if zone is None else naive.replace(tzinfo=zone)


def _later(moment: datetime, seconds: float) -> datetime:
    """So much later, to the minute, by the time that passes and not by the clock's hands."""
    later = datetime.fromtimestamp(moment.timestamp() + seconds, moment.tzinfo)
    return later.replace(second=0, microsecond=0)
