"""`crumbcall plan --order`: what to order for a week."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from assistant.batch.record.events import BatchOpened, Event
from assistant.batch.record.rules import DayFigures
from assistant.cli.planning.ordering import additions_of, as_values, order_text, weeks_of
from assistant.config.home import Home
from assistant.dough.recipe import RecipePlan, Share
from assistant.journal.reader import JournalReader
from assistant.journal.summaries import BatchSummary
from assistant.ports import Stamp
from tests.cli.conftest import Run

MONDAY = datetime(2026, 1, 5, 12, tzinfo=UTC)
"""A Monday; batch number one is of the week before."""


def batch(number: int, day: int, flour: float, outcome: str = "closed") -> BatchSummary:
    """A batch so many days after `MONDAY`."""
    wall = (MONDAY + timedelta(days=day)).timestamp()
    return BatchSummary(number, wall, True, wall, True, None, flour, 0, 0, None, outcome)  # type: ignore[arg-type]


def egg_alone(number: int) -> list[tuple[Stamp, Event]]:
    """Even batches are of the egg recipe: 20 g to 100 g of flour."""
    plan = RecipePlan("egg", 31, 30, 33, (Share("whole egg", 20, 76.15),)) if number % 2 == 0 else None
    opened = BatchOpened(
        at=0.0,
        batch=number,
        flour_g=1000,
        target_pct=31,
        low_pct=30,
        high_pct=33,
        hopper_g=3000,
        first_pour_g=200,
        lot=None,
        source="voice",
        plan=plan,
    )
    return [(Stamp(1, 0.0, 0.0, "boot", True), opened)]


def test_weeks_begin_on_monday_and_only_whole_ones_count() -> None:
    batches = [
        batch(1, -2, 5000),
        *(
            batch(2, 0, 1000),
            batch(3, 6, 500),
            batch(4, 13, 2000, "dropped"),
            batch(5, 14, 9000, "taken back"),
        ),
        batch(6, 28, 7000),
    ]
    found = weeks_of(batches, egg_alone, (MONDAY + timedelta(days=30)).timestamp(), UTC)
    assert found == {"flour": [1500, 2000, 0, 0], "whole egg": [200, 200, 0, 0]}
    assert weeks_of([], egg_alone, 0.0, UTC) == {"flour": []}
    assert weeks_of(batches[:1], egg_alone, MONDAY.timestamp(), UTC) == {"flour": []}


def test_the_order_is_for_a_week_that_needs_much_less_what_is_left() -> None:
    # 10, 12, 11 and 13 kg: mean 11.5, s 1.291, t 2.353 of three degrees of freedom (any table):
    # 11.5 + 2.353 x 1.291 x 1.118 = 14.9 kg.
    weeks = {"flour": [10_000.0, 12_000.0, 11_000.0, 13_000.0], "whole egg": [1000.0] * 4}
    stock = DayFigures(batches=0, portions=0, scrap_g=0, left_g=(("12", 3_500.0),))
    lines = order_text(weeks, stock).splitlines()
    assert lines[1].split() == ["flour", "11.5", "kg", "8.1", "kg", "to", "14.9", "kg", "12", "kg"]
    assert "1.0 kg (20 eggs of 50 g)" in lines[2]
    assert "3.5 kg of flour left are taken off" in lines[3]
    flour = as_values(weeks, stock)[0]
    assert flour["order_g"] == pytest.approx(14_896 - 3_500, abs=1)
    unknown = DayFigures(batches=0, portions=0, scrap_g=0)
    assert "15 kg" in order_text(weeks, unknown).splitlines()[1]


def test_what_to_order_is_said_from_four_weeks_on(run: Run, at: Callable[[str], None]) -> None:
    assert run("plan", "--order").status == 2
    at("2026-03-02 10:00")
    run("type", lines=["new batch 1500", "poured the rest", "close batch"])
    assert run("plan", "--order").out == (
        "0 whole weeks are in the journal: from 4 on it is said what a week takes. "
        "So far 0.0 kg of flour a week.\n"
    )
    assert run("plan", "--order", "--json").objects[0]["order_g"] is None
    refused = run("plan", "--order", "rigatoni=4")
    assert (
        refused.err
        == "crumbcall: --order goes by the journal alone: leave orders, --service and --calendar out.\n"
    )


@pytest.mark.parametrize(
    ("lines", "grams"),
    [
        (["new batch 1000", "two hundred of egg in", "poured the rest"], 200.0),
        (["new batch 1000", "one fifty of egg in", "poured the rest"], 150.0),
        (["new batch 1000", "one fifty of egg in", "make that 180", "poured the rest"], 180.0),
        (["new batch 1000", "no egg today", "poured the rest"], None),
        (["new batch 1000", "poured the rest"], 200.0),
    ],
    ids=["as the recipe says", "less of it", "corrected", "left out", "nobody told of it"],
)
def test_an_addition_is_ordered_as_it_was_told(
    run: Run, at: Callable[[str], None], lines: list[str], grams: float | None
) -> None:
    at("2026-03-02 10:00")
    run("type", "--clock", "scripted", lines=["recipe egg", *lines, "drop batch", "yes"])
    with JournalReader.open(Home.find().journal_file) as journal:
        found = dict(additions_of(journal.batch(1)))
    assert found.get("whole egg") == grams
