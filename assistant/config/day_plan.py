"""The plan of the day as a file: written by `crumbcall plan`, read by the station whenever it has changed."""

from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, tzinfo
from pathlib import Path

import msgspec

from assistant.batch.record.rules import Known, PlanTime
from assistant.dough.shift_plan import PlannedBatch
from assistant.errors import SettingsError
from assistant.ports import Clock

FILE = "plan.json"
DAY_ENDS_H = 4
"""A day ends at this hour, a late service belongs to the evening before: common practice, no source."""


class DayPlan(msgspec.Struct, frozen=True):
    """Service as a time of day, and the batches in their order."""

    service: str
    batches: tuple[PlannedBatch, ...]
    day: str | None = None
    """Day of the service, as 2026-03-02; None: not known, for plans of 0.1.0 have none."""
    learned: dict[str, float] = {}
    """Dies of the plan whose own rate it goes by, each with that (g a minute)."""


class WatchedPlan:
    """The plan as it is now, and how late it is for it; for the station, which only ever reads the file.

    A file that can't be read leaves the plan as it was: a batch goes on, and `crumbcall plan` says what is
    wrong. `clock` tells how late it is, where the wall clock can be trusted; `zone` None: the machine's.
    """

    def __init__(self, file: Path, clock: Clock, zone: tzinfo | None = None) -> None:
        self._file = file
        self._clock = clock
        self._zone = zone
        self._seen: tuple[int, int, int] | None = None
        self._plan: DayPlan | None = None

    def __call__(self, known: Known) -> Known:
        """What the kitchen knows, with the plan of now."""
        seen = self._stamp()
        if seen != self._seen:
            self._seen = seen
            with suppress(SettingsError):
                self._plan = read_plan(self._file)
        wall = self._clock.wall() if self._clock.wall_trusted() else None
        return with_plan(known, self._plan, wall, self._zone)

    def _stamp(self) -> tuple[int, int, int] | None:
        """What changes whenever another plan is kept; None without one."""
        try:
            found = self._file.stat()
        except OSError:
            return None
        return found.st_ino, found.st_mtime_ns, found.st_size


def with_plan(known: Known, plan: DayPlan | None, wall: float | None, zone: tzinfo | None = None) -> Known:
    """What the kitchen knows, with this plan. `wall`: wall time (s since 1970); None: not to be trusted."""
    if plan is None:
        return replace(known, plan=(), plan_time=None)
    time = None if wall is None else plan_time(plan, datetime.fromtimestamp(wall, UTC).astimezone(zone))
    return replace(known, plan=plan.batches, plan_time=time)


def plan_time(plan: DayPlan, now: datetime) -> PlanTime | None:
    """How `now`, by the kitchen's clock, stands to a plan; None for one without a day, of 0.1.0."""
    if plan.day is None:
        return None
    days, second = (now.date() - date.fromisoformat(plan.day)).days, now.hour * 3600.0 + now.minute * 60.0
    if now.hour < DAY_ENDS_H:
        days, second = days - 1, second + 86_400.0
    return PlanTime(days, second + now.second)


def read_plan(file: Path) -> DayPlan | None:
    """The plan; None where there is none. Raises SettingsError where the file can't be used."""
    try:
        return msgspec.json.decode(file.read_bytes(), type=DayPlan)
    except FileNotFoundError:
        return None
    except (OSError, msgspec.DecodeError, UnicodeDecodeError) as error:
        raise SettingsError(
            f"{file} is not a plan ({error}); move it away, or make a new one with crumbcall plan."
        ) from None


def write_plan(file: Path, plan: DayPlan) -> None:
    """Keep a plan, in the place of the one before: whole or not at all. Raises SettingsError."""
    part = file.with_name(file.name + ".part")
    try:
        part.write_bytes(msgspec.json.format(msgspec.json.encode(plan)) + b"\n")
        part.replace(file)
    except OSError as error:
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None
