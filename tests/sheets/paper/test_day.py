"""The sheet of a day: cooling tray by tray with its times, cleaning, who, lots; and nothing made up."""

from collections.abc import Sequence
from datetime import UTC, date, datetime

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import DayFigures
from assistant.batch.record.state import State
from assistant.batch.record.steps import Step
from assistant.config.flour_lots import StockedLot
from assistant.journal.summaries import BatchSummary, batch_of, keep_opening, summaries_after
from assistant.ports import Stamp
from assistant.sheets.paper.day_record import DayRecord, day_record
from assistant.sheets.paper.day_tables import DayTable, day_tables
from assistant.sheets.paper.fitting import one_page
from assistant.sheets.paper.paper_pages import Look, day_page
from tests.sheets.words import english

MORNING = datetime(2026, 4, 1, 9, 0, tzinfo=UTC).timestamp()
STEPS = (Step("Unplugged.", safety=True), Step("Dry it."))
HOUR = 3600.0
Events = Sequence[tuple[Stamp, ev.Event]]

BATCH: list[ev.Event] = [
    ev.BatchOpened(
        at=0.0,
        batch=1,
        flour_g=1500,
        target_pct=31,
        low_pct=30,
        high_pct=33,
        hopper_g=3000,
        first_pour_g=330,
        lot="471",
        source="voice",
    ),
    ev.WaterAdded(at=600.0, entry=2, grams=465, source="voice"),
    ev.CrumbJudged(at=1200.0, verdict="ready", hydration_pct=31, cook="anna"),
    ev.TrayFilled(at=1800.0, tray=1, batch=1, due=600.0 + 4 * HOUR, since=600.0),
    ev.TrayFilled(at=2400.0, tray=2, batch=1, due=600.0 + 4 * HOUR, since=600.0),
    ev.TrayFilled(at=3000.0, tray=3, batch=1, due=600.0 + 4 * HOUR, since=600.0),
    sh.TrayChilled(at=2 * HOUR, batch=1, tray=1, seconds=2 * HOUR - 600, limit_s=4 * HOUR),
    ev.ScrapWeighed(at=2 * HOUR, entry=3, grams=40, source="voice"),
    ev.BatchClosed(at=2 * HOUR),
    sh.WalkBegan(at=2 * HOUR, walk="clean down", steps=STEPS),
    sh.WalkEnded(at=2.5 * HOUR, walk="clean down", skipped=0),
    sh.TrayChilled(at=5 * HOUR, batch=1, tray=2, seconds=5 * HOUR - 600, limit_s=4 * HOUR),
]


def stamped(events: Sequence[ev.Event], *, trusted: bool = True) -> list[tuple[Stamp, ev.Event]]:
    return [(Stamp(at, MORNING + one.at, one.at, "boot", trusted), one) for at, one in enumerate(events, 1)]


def record(events: Events, day: str = "2026-04-01") -> DayRecord:
    """The record of a day from its events alone, without the laws of the batch for what stands beside it."""
    state, lines, of_batch = State(), dict[int, BatchSummary](), dict[int, list[tuple[Stamp, ev.Event]]]()
    for stamp, event in events:
        if isinstance(event, sh.WalkBegan | sh.WalkEnded):
            continue
        before, state = state, evolve(state, event)
        if (number := batch_of(before, state)) is not None:
            of_batch.setdefault(number, []).append((stamp, event))
        for line in summaries_after(before, event, state, stamp):
            lines[line.number] = keep_opening(lines.get(line.number), line)
    stock = {"471": StockedLot(flour="semolina", supplier="mill one", best_before=date(2026, 9, 1))}
    figures = DayFigures(batches=1, portions=0, scrap_g=40)
    return day_record(day, events, list(lines.values()), of_batch.__getitem__, figures, UTC, stock=stock)


def table(found: DayRecord, title: str) -> DayTable:
    return next(one for one in day_tables(found, english(), UTC)[0] if one.title == title)


def test_each_tray_has_its_times_from_the_first_water_to_cold() -> None:
    """3-501.14(B) of the US Food Code: within four hours; they run from the first water at 09:10."""
    rows = table(record(stamped(BATCH)), "Cooling").rows
    assert [row[:6] for row in rows] == [
        ("batch 1 tray 1", "09:10", "09:30", "13:10", "11:00", "1:50:00"),
        ("batch 1 tray 2", "09:10", "09:40", "13:10", "14:00", "4:50:00, TOO LATE"),
        ("batch 1 tray 3", "09:10", "09:50", "13:10", "________", "not told cold"),
    ]
    assert all(row[6:] == ("________", "________") for row in rows), "what nobody measured is written by hand"
    assert "5 C (41 F)" in table(record(stamped(BATCH)), "Cooling").note


def test_cleaning_batches_lots_scrap_and_who_are_on_it() -> None:
    found = record(stamped(BATCH))
    assert table(found, "Cleaning and checks").rows == (("clean down", "11:00", "11:30", "all steps done"),)
    assert table(found, "Flour lots").rows == (("471", "semolina", "mill one", "2026-09-01", "1500 g"),)
    (batch,) = table(found, "Batches").rows
    assert batch == (
        "1", "09:00", "-", "471", "1500 g", "465 g", "31.0 %", "ready", "0", "40 g", "closed",
    )  # fmt: skip
    assert found.cooks == ("anna",)
    html = day_page(found, english(), Look(), zone=UTC)
    assert "Cook: anna" in html
    assert "40 g" in html


def test_a_clean_down_that_was_not_ended_is_called_so() -> None:
    open_walk = [one for one in BATCH if not isinstance(one, sh.WalkEnded)]
    rows = table(record(stamped(open_walk)), "Cleaning and checks").rows
    assert rows == (("clean down", "11:00", "________", "NOT ENDED"),)


def test_what_was_taken_back_is_not_on_it() -> None:
    events = [*BATCH[:6], ev.Withdrawn(at=3060.0, what="TrayFilled", grams=None), *BATCH[6:]]
    rows = table(record(stamped(events)), "Cooling").rows
    assert [row[0] for row in rows] == ["batch 1 tray 1", "batch 1 tray 2"]


def test_of_another_day_nothing_is_on_it() -> None:
    found = record(stamped(BATCH), "2026-04-02")
    assert (found.batches, found.cooling, found.walks, found.cooks) == ((), (), (), ())
    assert day_page(found, english(), Look(), zone=UTC).count("none") >= 3


def test_without_a_set_clock_no_time_is_made_up() -> None:
    found = record(stamped(BATCH, trusted=False))
    assert not found.clock_set
    html = day_page(found, english(), Look(), zone=UTC)
    assert "The clock was not set" in html
    assert "09:10" not in html
    assert "13:10" not in html
    assert table(found, "Cooling").rows[0][5] == "1:50:00", "a length of time needs no set clock"


def test_a_long_day_is_one_page() -> None:
    found = record(stamped(BATCH))
    page = record(stamped(BATCH))
    many = [*found.cooling] * 8
    long = DayRecord(
        day=page.day,
        figures=page.figures,
        batches=page.batches * 12,
        cooling=tuple(many),
        walks=page.walks * 3,
        cooks=page.cooks,
        scrap_g=page.scrap_g,
    )
    _, made = one_page("day", lambda look, _: day_page(long, english(), look, zone=UTC), 12, Look())
    assert len(made.dots(1.0)) == 1
