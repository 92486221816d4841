"""Closing time: once an evening, never over an open batch, never by a clock that is not trusted."""

from datetime import UTC, datetime

import pytest

from assistant.clock import ScriptedClock
from assistant.station.closing import ClosingTime, is_closing

EVENING = datetime(2026, 3, 5, 23, 28, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("hour", "minute", "closing"),
    [(23, 57, False), (23, 58, True), (0, 0, True), (0, 2, True), (0, 3, False), (11, 58, False)],
)
def test_the_minutes_after_closing_time_go_over_midnight(hour: int, minute: int, closing: bool) -> None:
    wall = datetime(2026, 3, 5, hour, minute, 30, tzinfo=UTC).timestamp()
    assert is_closing(wall, "23:58", UTC) is closing


def test_it_closes_once_an_evening() -> None:
    clock, closed = ScriptedClock(wall=EVENING), list[float]()
    closing = ClosingTime(
        clock, "23:30", busy=lambda: False, close=lambda: closed.append(clock.monotonic()), zone=UTC
    )
    for _ in range(3 * 24 * 60 * 3):
        closing.look()
        clock.move(20)
    assert closed == [120.0 + day * 86_400.0 for day in range(3)]


def test_it_waits_for_an_open_batch_and_gives_up_when_somebody_works_on() -> None:
    clock, closed, busy = ScriptedClock(wall=EVENING), list[float](), [True]
    closing = ClosingTime(
        clock, "23:30", busy=lambda: busy[0], close=lambda: closed.append(clock.monotonic()), zone=UTC
    )
    for second in range(0, 1800, 20):
        busy[0] = second < 240
        closing.look()
        clock.move(20)
    assert closed == [240.0]
    clock, closed = ScriptedClock(wall=EVENING), list[float]()
    closing = ClosingTime(
        clock, "23:30", busy=lambda: clock.monotonic() < 900, close=lambda: closed.append(0.0), zone=UTC
    )
    for _ in range(90):
        closing.look()
        clock.move(20)
    assert closed == []


def test_a_clock_that_is_not_trusted_closes_nothing() -> None:
    clock, closed = ScriptedClock(wall=EVENING + 120, trusted=False), list[float]()
    ClosingTime(clock, "23:30", busy=lambda: False, close=lambda: closed.append(0.0), zone=UTC).look()
    assert closed == []
