"""The day's plan as the station reads it: its batches, and how late it is for them."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.batch.record.rules import Known, PlanTime
from assistant.clock import ScriptedClock
from assistant.config.day_plan import DayPlan, WatchedPlan, plan_time, with_plan, write_plan
from assistant.dough.shift_plan import PlannedBatch

BATCH = PlannedBatch("1/1", "rigatoni", None, 1500.0, 465.0, 14, "16:30")
PLAN = DayPlan("18:00", (BATCH,), "2026-03-02")


@pytest.mark.parametrize(
    ("now", "days", "late_min"),
    [
        ("2026-03-02T16:20", 0, -10),
        ("2026-03-02T16:30", 0, 0),
        ("2026-03-02T17:15", 0, 45),
        # A late service belongs to the evening before.
        ("2026-03-03T01:00", 0, 8 * 60 + 30),
        ("2026-03-03T04:00", 1, 11 * 60 + 30),
        ("2026-03-05T16:30", 3, 3 * 24 * 60),
        ("2026-03-01T16:30", -1, -24 * 60),
    ],
)
def test_how_late_it_is_for_a_plan(now: str, days: int, late_min: float) -> None:
    found = plan_time(PLAN, datetime.fromisoformat(now))
    assert found is not None
    assert (found.days, found.late_s(BATCH)) == (days, late_min * 60.0)


def test_a_plan_without_a_day_and_a_clock_that_is_not_set_call_nothing_late() -> None:
    wall = datetime(2026, 3, 4, 12, tzinfo=UTC).timestamp()
    assert with_plan(Known(), DayPlan("18:00", (BATCH,)), wall, UTC).plan_time is None
    assert with_plan(Known(), PLAN, None, UTC) == Known(plan=(BATCH,))
    assert with_plan(Known(), PLAN, wall, UTC).plan_time == PlanTime(2, 43_200.0)
    assert with_plan(Known(plan=(BATCH,)), None, wall, UTC) == Known()


def test_a_running_station_sees_that_it_is_late_and_keeps_what_it_could_read(tmp_path: Path) -> None:
    file = tmp_path / "plan.json"
    clock = ScriptedClock(wall=datetime(2026, 3, 2, 16, 29, tzinfo=UTC).timestamp())
    watched = WatchedPlan(file, clock, UTC)
    assert watched(Known()).plan == ()
    write_plan(file, PLAN)
    first = watched(Known())
    clock.move(6 * 60)
    second = watched(Known())
    assert first.plan_time is not None
    assert second.plan_time is not None
    assert (first.plan_time.late_s(BATCH), second.plan_time.late_s(BATCH)) == (-60.0, 300.0)
    file.write_text("{", encoding="utf-8")
    assert watched(Known()).plan == (BATCH,)
