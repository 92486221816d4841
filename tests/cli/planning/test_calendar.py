"""`crumbcall plan --calendar`: what other programs read in it (RFC 5545, from memory where it is cited)."""

import re
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record import shift_commands as sh
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.journal.store import SqliteJournal
from assistant.testing.journal import decisions
from tests.cli.conftest import Run

ROME = ZoneInfo("Europe/Rome")


@pytest.fixture(autouse=True)
def _in_rome(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "Europe/Rome")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "day.ics"


def read(file: Path) -> tuple[Any, list[Any]]:
    """Calendar and events as the library parses them."""
    calendar: Any = icalendar.Calendar.from_ical(file.read_bytes())
    assert not calendar.errors
    return calendar, calendar.events


def triggers(event: Any) -> list[tuple[timedelta, str]]:
    return [(one.TRIGGER, one.TRIGGER_RELATED) for one in event.walk("VALARM")]


def test_each_batch_and_its_rest_are_in_the_calendar(run: Run, at: Callable[[str], None], file: Path) -> None:
    at("2026-03-02 10:00")
    made = run("plan", "--service", "18:30", "--calendar", str(file), "rigatoni=20")
    assert made.status == 0
    assert f"{file} written" in made.out
    calendar, [batch, rest] = read(file)
    assert (calendar["VERSION"], calendar["METHOD"]) == ("2.0", "PUBLISH")
    # Start times are reckoned back from service, each to the minute.
    start = datetime.fromisoformat(f"2026-03-02T{run('plan', '--json').objects[0]['start']}").replace(
        tzinfo=ROME
    )
    assert (batch.start, batch["SUMMARY"]) == (start, "rigatoni, 20 portions")
    assert timedelta() <= datetime(2026, 3, 2, 18, 30, tzinfo=ROME) - batch.end < timedelta(minutes=2)
    assert batch.start < rest.start < rest.end < batch.end
    assert triggers(batch) == [(timedelta(minutes=-10), "START")]
    assert triggers(rest) == [(timedelta(), "END")]
    assert "switch off and unplug, then squeeze" in rest["DESCRIPTION"]
    assert {event["DTSTAMP"].dt for event in (batch, rest)} == {datetime(2026, 3, 2, 9, 0, tzinfo=UTC)}


def test_what_it_needs_to_be_read_anywhere_is_in_it(run: Run, at: Callable[[str], None], file: Path) -> None:
    at("2026-03-02 10:00")
    run("plan", "--calendar", str(file), "rigatoni=20")
    text = file.read_bytes()
    # RFC 5545, 3.1: lines end with CRLF and have at most 75 octets; 3.6.5: each TZID has its VTIMEZONE.
    assert text.count(b"\n") == text.count(b"\r\n")
    assert max(map(len, text.split(b"\r\n"))) <= 75
    zones = set(re.findall(rb"TZID=([^:;]+)", text))
    assert zones == {b"Europe/Rome"} == set(re.findall(rb"TZID:(\S+)", text))
    calendar, events = read(file)
    [zone] = calendar.timezones
    assert zone.to_tz().utcoffset(datetime(2026, 7, 1)) == timedelta(hours=2)
    assert len({event["UID"] for event in events}) == len(events)


def test_a_calendar_that_is_written_again_names_everything_the_same(
    run: Run, at: Callable[[str], None], file: Path
) -> None:
    at("2026-03-02 10:00")
    run("plan", "--calendar", str(file), "rigatoni=20")
    first = {event["UID"]: event.start for event in read(file)[1]}
    at("2026-03-02 11:00")
    run("plan", "--calendar", str(file))
    assert {event["UID"]: event.start for event in read(file)[1]} == first


def made_today(at: Callable[[str], None], home: Path, *, trusted: bool = True) -> None:
    """A batch with two trays, one of them cold, on 2026-03-02; its water goes in at 10:01."""
    clock = ScriptedClock(wall=datetime(2026, 3, 2, 10, 0, tzinfo=ROME).timestamp(), trusted=trusted)
    steps = (
        (0.0, cmd.NewBatch(Amount(1500))),
        (60.0, cmd.AddWater(Amount(465, exact=True))),
        (300.0, cmd.JudgeCrumb("ready")),
        (310.0, sh.Extruding()),
        (320.0, sh.NewDie("rigatoni")),
        (1800.0, sh.TrayDone()),
        (2400.0, sh.TrayDone()),
        (2500.0, sh.TrayCold(1)),
    )
    with closing(SqliteJournal.open(home / "home" / "journal.sqlite", clock)) as journal:
        for events in decisions(*steps):
            clock.move(events[0].at - clock.monotonic())
            journal.append(events)
    at("2026-03-02 11:00")


def test_trays_and_days_of_use_by_are_in_the_calendar(
    run: Run, at: Callable[[str], None], file: Path, tmp_path: Path
) -> None:
    made_today(at, tmp_path)
    run("plan", "--calendar", str(file), "rigatoni=20")
    events = {event["SUMMARY"]: event for event in read(file)[1]}
    [(title, tray)] = [one for one in events.items() if "tray" in one[0]]
    assert title == "batch 1 tray 2 cold by now"
    # Four hours from the first water: US Food Code 3-501.14(B).
    assert tray.start == datetime(2026, 3, 2, 14, 1, tzinfo=ROME)
    assert triggers(tray) == [(timedelta(minutes=-30), "START"), (timedelta(), "START")]
    used = events["use by: rigatoni, batch 1"]
    # Seven days, the day it was made is the first: US Food Code 3-501.17.
    assert used["DTSTART"].dt == date(2026, 3, 8)
    assert triggers(used) == [(timedelta(hours=8), "START")]


@pytest.mark.parametrize(("day", "wanted"), [("2026-03-08", True), ("2026-03-09", False)])
def test_use_by_is_left_out_when_it_is_past(
    run: Run, at: Callable[[str], None], file: Path, tmp_path: Path, day: str, wanted: bool
) -> None:
    made_today(at, tmp_path)
    at(f"{day} 10:00")
    run("plan", "--calendar", str(file), "rigatoni=20")
    assert any("use by" in event["SUMMARY"] for event in read(file)[1]) is wanted


def test_without_a_set_clock_no_day_is_told_and_the_tray_says_so(
    run: Run, at: Callable[[str], None], file: Path, tmp_path: Path
) -> None:
    made_today(at, tmp_path, trusted=False)
    run("plan", "--calendar", str(file), "rigatoni=20")
    *_, tray = read(file)[1]
    assert tray["SUMMARY"] == "batch 1 tray 2 cold by now"
    assert "not certain" in tray["DESCRIPTION"]


@pytest.mark.parametrize(("night", "offset"), [("2026-10-24", 2), ("2026-10-25", 1)])
def test_the_clock_that_is_set_back_is_kept(
    run: Run, at: Callable[[str], None], file: Path, night: str, offset: int
) -> None:
    at(f"{night} 10:00")
    run("plan", "--calendar", str(file), "rigatoni=20")
    assert read(file)[1][0].start.utcoffset() == timedelta(hours=offset)


def test_without_a_name_of_the_zone_times_are_in_utc(
    run: Run, at: Callable[[str], None], file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    at("2026-03-02 10:00")
    run("plan", "--service", "18:30", "--calendar", str(file), "rigatoni=20")
    calendar, [batch, _] = read(file)
    assert not calendar.timezones
    assert timedelta() <= datetime(2026, 3, 2, 17, 30, tzinfo=UTC) - batch.end < timedelta(minutes=2)


def test_no_file_but_one_of_its_own_is_written_over(run: Run, at: Callable[[str], None], file: Path) -> None:
    at("2026-03-02 10:00")
    file.write_text("BEGIN:VCALENDAR\r\nPRODID:another\r\nEND:VCALENDAR\r\n")
    ran = run("plan", "--calendar", str(file), "rigatoni=20")
    assert (ran.status, len(ran.err.splitlines())) == (2, 1)
    assert "not one of our calendars" in ran.err
    assert "another" in file.read_text()


def test_what_can_t_be_done_is_one_line(run: Run, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "leave orders, --service and --calendar out" in run("plan", "--order", "--calendar", str(file)).err
    assert (
        "can't be written" in run("plan", "rigatoni=20", "--calendar", str(file.parent / "no" / "x.ics")).err
    )
    file.write_text("mine", encoding="utf-8")
    assert "can't be written" in run("plan", "rigatoni=20", "--calendar", str(file / "below")).err
    file.unlink()
    monkeypatch.setitem(sys.modules, "icalendar", None)
    ran = run("plan", "rigatoni=20", "--calendar", str(file))
    assert (ran.status, len(ran.err.splitlines())) == (2, 1)
    assert "install crumbcall[export]" in ran.err
