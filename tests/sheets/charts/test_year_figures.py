"""A year by months: what counts where, against sums by hand."""

from datetime import UTC, datetime

from assistant.journal.summaries import BatchSummary, Outcome
from assistant.journal.tallies import Tally
from assistant.sheets.charts.year_figures import Month, checks_figure, flour_figure, months, over_figure
from tests.sheets.charts.reading import texts, values
from tests.sheets.words import english


def tally(
    ended: datetime,
    *,
    outcome: Outcome = "closed",
    checks: int = 2,
    over: bool = False,
    flour_g: float = 1500.0,
) -> Tally:
    """A batch that ended at this time."""
    wall = ended.timestamp()
    batch = BatchSummary(1, wall, True, wall, True, "12", flour_g, 465.0, 31.0, "ready", outcome)
    return Tally(batch, scrap_g=40.0, portions=14, checks=checks, over=over)


MARCH = datetime(2026, 3, 10, 12, tzinfo=UTC)


def test_a_month_adds_up() -> None:
    found = months(
        [
            tally(MARCH, checks=3, over=True),
            tally(MARCH, checks=1),
            tally(MARCH, checks=0),
            tally(MARCH, outcome="dropped", flour_g=2000.0, over=True),
            tally(MARCH, outcome="taken back"),
        ],
        UTC,
    )
    assert found == [
        Month(
            "2026-03",
            batches=3,
            dropped=1,
            flour_g=6500.0,
            scrap_g=160.0,
            portions=42,
            checks=4,
            judged=2,
            over=1,
        )
    ]
    assert found[0].checks_a_batch == 2.0
    assert found[0].over_pct == 50.0


def test_a_late_service_belongs_to_the_month_before() -> None:
    # A day ends at four in the morning: common practice, no source.
    late = datetime(2026, 4, 1, 3, 59, tzinfo=UTC)
    early = datetime(2026, 4, 1, 4, 0, tzinfo=UTC)
    assert [one.month for one in months([tally(late), tally(early)], UTC)] == ["2026-03", "2026-04"]


def test_columns_and_table_have_the_same_figures() -> None:
    year = [
        Month("2026-03", batches=3, flour_g=6500.0, scrap_g=160.0, portions=42, checks=5, judged=2, over=1),
        Month("2026-04", batches=1, flour_g=1500.0),
    ]
    flour = flour_figure(year, english())
    assert [one["value"] for one in values(flour, "column")] == [6.5, 1.5]
    assert flour.table.rows[0] == ("2026-03", "3", "0", "6.5", "0.16", "42")
    checks = checks_figure(year, english())
    assert texts(checks) == ["2.5"]
    assert checks.table.rows == (("2026-03", "2", "5", "2.5"), ("2026-04", "0", "0", "-"))
    over = over_figure(year, english())
    assert texts(over) == ["50.0"]
    assert over.table.rows[0] == ("2026-03", "2", "1", "50.0")


def test_columns_begin_at_nought() -> None:
    figure = flour_figure([Month("2026-03", flour_g=90_000.0)], english())
    low, high = figure.spec["layer"][0]["encoding"]["y"]["scale"]["domain"]
    assert low == 0.0
    assert high >= 90.0


def test_a_year_has_all_its_months_and_little_does_not_look_like_much() -> None:
    figure = over_figure([Month("2026-03", judged=40, over=0)], english())
    encoding = figure.spec["layer"][0]["encoding"]
    assert encoding["x"]["scale"]["domain"] == [f"2026-{month:02}" for month in range(1, 13)]
    assert encoding["y"]["scale"]["domain"][1] >= 10.0
