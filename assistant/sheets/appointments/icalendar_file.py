"""Appointments as an iCalendar file: RFC 5545, and RFC 7986 for the name.

Times are of the kitchen's zone, which the file describes; where its name is not known they are in UTC.
"""

from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from assistant.errors import SettingsError
from assistant.sheets.appointments.of_the_day import OUR_CALENDAR, Alarm, Appointment

if TYPE_CHECKING:
    import icalendar

PRODUCT = "-//Crumbcall//crumbcall//EN"
"""Whose calendar it is: one that has this may be written again."""
_A_YEAR = timedelta(days=366)


def calendar_text(appointments: Iterable[Appointment], name: str, now: datetime) -> bytes:
    """The calendar. `now`: when it is written. Raises SettingsError, one line, without the library."""
    made = _library()
    calendar = made.Calendar.new(prodid=PRODUCT, method="PUBLISH", name=name, uid=OUR_CALENDAR)
    zoned = False
    for one in appointments:
        zoned |= isinstance(one.begin, datetime) and isinstance(one.begin.tzinfo, ZoneInfo)
        calendar.add_component(_event(made, one, now))
    if zoned:
        calendar.add_missing_timezones((now - _A_YEAR).date(), (now + _A_YEAR).date())
    written: bytes = calendar.to_ical()
    return written


def write_calendar(file: Path, text: bytes) -> None:
    """Write a calendar whole or not at all; in the place of an older one of ours, never of another file.

    Raises SettingsError, one line.
    """
    part = file.with_name(f".{file.name}.part")
    try:
        if file.exists() and f"PRODID:{PRODUCT}".encode() not in file.read_bytes()[:512]:
            raise SettingsError(f"{file} is there already and not one of our calendars; name another file.")
        part.write_bytes(text)
        part.replace(file)
    except OSError as error:
        raise SettingsError(f"{file} can't be written ({error.strerror}); choose another place.") from None
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _event(made: Any, one: Appointment, now: datetime) -> "icalendar.Event":
    event: icalendar.Event = made.Event.new(
        uid=one.uid,
        stamp=now.astimezone(UTC).replace(microsecond=0),
        summary=one.title,
        description=one.note,
        start=_time(one.begin),
        end=None if one.end is None else _time(one.end),
    )
    for alarm in one.alarms:
        event.add_component(_alarm(made, alarm, one.title))
    return event


def _time(moment: datetime | date) -> datetime | date:
    """A time that the standard can write: of a zone with a name, else UTC."""
    if isinstance(moment, datetime) and not isinstance(moment.tzinfo, ZoneInfo):
        return moment.astimezone(UTC)
    return moment


def _alarm(made: Any, alarm: Alarm, title: str) -> "icalendar.Alarm":
    found: icalendar.Alarm = made.Alarm.new_display(description=title, trigger=alarm.after)
    if alarm.from_end:
        found["TRIGGER"].params["RELATED"] = "END"
    return found


def _library() -> Any:
    try:
        import icalendar
    except ModuleNotFoundError:
        raise SettingsError(
            "a calendar needs icalendar, which is not installed; install crumbcall[export]."
        ) from None
    return icalendar
