"""Figures and the year from the commands: `batches --year`, `sheet --figure`, `lots --figure`."""

from pathlib import Path

import pytest

from tests.board.pages.served import kitchen
from tests.cli.conftest import Run

LINES = [
    "lot 12", "new batch 1500", "water 450", "crumb dry", "water 15", "crumb wet", "extruding", "scrap 40",
    "portions 12", "close batch", "new batch 2000", "drop batch",
]  # fmt: skip


@pytest.fixture
def year(run: Run, tmp_path: Path) -> Run:
    """A kitchen with two batches in January 2026, when a scripted clock begins: one closed, one dropped."""
    with kitchen(tmp_path / "home") as made:
        made.play(LINES)
    return run


def test_a_year_by_its_months(year: Run) -> None:
    (month,) = year("batches", "--year", "2026", "--json").objects
    assert month == {
        "month": "2026-01", "batches": 1, "dropped": 1, "flour_g": 3500.0, "scrap_g": 40.0, "portions": 12,
        "checks": 2, "judged": 1, "over": 1,
    }  # fmt: skip
    out = year("batches", "--year", "2026").out
    assert "2026-01       1        1        3.5       0.04        12" in out
    assert "2026-01               1             2             2.0" in out
    assert year("batches", "--year", "1999").out == "No batch ended in 1999.\n"


def test_a_year_is_drawn_in_three(year: Run, tmp_path: Path) -> None:
    assert year("batches", "--year", "2026", "--figure", str(tmp_path / "y.svg")).status == 0
    assert {one.name for one in tmp_path.glob("*.svg")} == {"y-flour.svg", "y-checks.svg", "y-over.svg"}


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (
            ("batches", "--figure", "y.svg"),
            "--figure draws a year: name it, as crumbcall batches --year 2026",
        ),
        (("batches", "--year", "2026", "--dies"), "--dies is of the last batches, --year of a year"),
        (("batches", "--year", "26"), "year 26: a whole number from 1970 to 9998 is allowed"),
        (("batches", "--year", "1999", "--figure", "y.svg"), "Flour by month: nothing to draw yet"),
        (("sheet", "--day", "--figure", "d.svg"), "--figure draws one batch, --day is all of today"),
        (("sheet", "1", "--figure", "b.jpg"), "b.jpg: .jpg found, .svg or .png is allowed"),
        (("lots", "--seasons", "--figure", "l.svg"), "--figure draws lots, and --seasons has none"),
    ],
)
def test_what_cannot_be_drawn_is_one_line(year: Run, arguments: tuple[str, ...], line: str) -> None:
    ran = year(*arguments)
    assert ran.status == 2
    assert line in ran.err
    assert ran.err.count("\n") == 1


def test_a_batch_and_a_lot_are_drawn_beside_what_is_printed(year: Run, tmp_path: Path) -> None:
    ran = year("sheet", "1", "--figure", str(tmp_path / "b.svg"))
    assert ran.out.startswith("Batch 1\n")
    assert "Batch 1, lot 12: hydration over time" in (tmp_path / "b.svg").read_text(encoding="utf-8")
    ran = year("lots", "12", "--figure", str(tmp_path / "l.png"))
    assert ran.out.startswith("2026-01-12  batch 1")
    assert (tmp_path / "l.png").read_bytes()[:4] == b"\x89PNG"
