"""The end of the day through the program: typed, and its sheet."""

import json
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from assistant.journal.summaries import BatchSummary
from assistant.sheets.day_account import day_figures, day_of
from tests.cli.conftest import Run

LINES = ["lot 12", "new batch 1500", "water 450", "scrap 40", "tray done", "portions 12", "close batch"]


def test_the_day_is_read_from_the_journal(run: Run) -> None:
    out = run("type", lines=[*LINES, "finish the day"]).out
    assert "One batch, twelve portions, scrap forty" in out
    assert "One tray not cold." in out


def test_the_sheet_of_the_day_has_what_is_not_spoken(run: Run) -> None:
    run("type", lines=LINES)
    rows = dict(line.split("  ", 1) for line in run("sheet", "--day").out.splitlines() if "  " in line)
    found = {label: value.strip() for label, value in rows.items()}
    assert found == {
        "batches closed": "1",
        "portions": "12",
        "scrap": "40 g",
        "trays not cold": "batch 1 tray 1",
        "lots used": "12",
        "flour of the plan yet": "none",
        "flour left": "not known: write delivered_kg into lots.toml",
        "to order": "none",
    }


def test_what_is_left_and_what_to_order_follow_from_the_delivery_and_the_plan(
    run: Run, tmp_path: Path
) -> None:
    (tmp_path / "home").mkdir(exist_ok=True)
    (tmp_path / "home" / "lots.toml").write_text("[12]\ndelivered_kg = 2\n[9]\ndelivered_kg = 0.5\n", "utf-8")
    run("type", lines=[*LINES, "lot 12", "new batch 250", "drop batch"])
    run("plan", "rigatoni=20")
    wanted = sum(json.loads(line)["flour_g"] for line in run("plan", "--json").out.splitlines())
    out = run("sheet", "--day").out
    assert "lot 12: 250 g, lot 9: 500 g" in out
    assert f"to order               {wanted - 750:g} g" in out
    said = run("type", lines=["tray cold", "finish the day"]).out
    assert "Order " in said.splitlines()[-1]


def test_the_sheet_of_the_day_is_of_no_batch(run: Run) -> None:
    run("type", lines=LINES)
    ran = run("sheet", "1", "--day")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(("hour", "day"), [(3, "2026-03-01"), (4, "2026-03-02"), (23, "2026-03-02")])
def test_a_late_service_belongs_to_the_evening_before(hour: int, day: str) -> None:
    zone = timezone(timedelta(hours=2))
    assert day_of(datetime(2026, 3, 2, hour, tzinfo=zone).timestamp(), zone) == day


@pytest.mark.parametrize("outcome", ["open", "dropped", "taken back"])
def test_only_closed_batches_count(outcome: str) -> None:
    wall = datetime(2026, 3, 2, 12, tzinfo=UTC).timestamp()
    ended = None if outcome == "open" else wall
    line = BatchSummary(1, wall, True, ended, True, None, 1500, 0, 0, None, outcome)  # type: ignore[arg-type]
    assert day_figures([line], lambda _: [], wall, UTC).batches == 0


def test_a_batch_of_another_day_does_not_count() -> None:
    wall = datetime(2026, 3, 2, 12, tzinfo=UTC).timestamp()
    line = BatchSummary(1, wall, True, wall - 86_400, True, None, 1500, 0, 0, None, "closed")
    assert day_figures([line], lambda _: [], wall, UTC).batches == 0
