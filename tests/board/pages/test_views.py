"""The pages as values: the plan against the clock, what has to be cold, what was asked, what to mind."""

from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache

import pytest

from assistant.batch.record import events as ev
from assistant.batch.record.commands import AddWater
from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.state import State, Timer
from assistant.board.pages.batch_page import batch_page, batches_page
from assistant.board.pages.hearing_page import hearing_page
from assistant.board.pages.lots_page import KnownLot, lot_page, lots_page
from assistant.board.pages.page_blocks import Cell, Drawn, Facts, Grid, Lines, Page, Ways, to_lot
from assistant.board.pages.page_words import PageWords
from assistant.board.pages.today_page import TodayFacts, today_page
from assistant.config.day_plan import DayPlan
from assistant.config.flour_lots import StockedLot
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.dough.evidence import Bounds
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen
from assistant.dough.shift_plan import PlannedBatch
from assistant.ports import Stamp
from assistant.sheets import Sheet, build_sheet
from tests.sheets.words import english

NOON = datetime(2026, 3, 10, 12, tzinfo=UTC).timestamp()
STAMP = Stamp(9, NOON - 60.0, 5000.0, "b", True)
EMPTY = TodayFacts((), State(), STAMP, None, NOON, wall_trusted=True)
OPENING = ev.BatchOpened(
    at=0.0, batch=4, flour_g=1500.0, target_pct=31.0, low_pct=30.0, high_pct=33.0, hopper_g=3000.0,
    first_pour_g=335.0, lot="12", source="voice",
)  # fmt: skip


@cache
def words() -> PageWords:
    """The English words of the pages, read once."""
    return PageWords.load(grammar_folder() / "pages.toml")


def grid(page: Page, heading: str) -> Grid:
    """The table under this heading."""
    return next(one for one in page.blocks if isinstance(one, Grid) and one.heading == heading)


def texts(found: Grid) -> list[tuple[str, ...]]:
    """Its rows as text."""
    return [tuple(cell.text for cell in row) for row in found.rows]


def today(facts: TodayFacts) -> Page:
    return today_page(facts, words(), english(), UTC)


def sheet_of(*events: ev.Event) -> Sheet:
    found = (OPENING, *events)
    return build_sheet([(Stamp(n, NOON + e.at, e.at, "b", True), e) for n, e in enumerate(found, 1)])


def planned(key: str, start: str) -> PlannedBatch:
    return PlannedBatch(key, "rigatoni", None, 1500.0, 465.0, 14, start)


PLAN = DayPlan(
    "18:30",
    (planned("a", "10:00"), planned("b", "10:30"), planned("c", "11:15"), planned("d", "13:00")),
    "2026-03-10",
)


def standings(facts: TodayFacts) -> list[str]:
    return [row[1] for row in texts(grid(today(facts), "The plan against the clock"))]


def test_the_plan_against_the_clock() -> None:
    opened = replay([replace(OPENING, planned="b")])
    state = replace(opened, made=("a",))
    # It is noon: the third was to begin at 11:15, the fourth begins at one.
    assert standings(replace(EMPTY, plan=PLAN, state=state)) == [
        "made",
        "open now",
        "late by 45 min",
        "to come",
    ]


def test_the_plan_of_a_day_before_is_late_by_hours() -> None:
    yesterday = replace(EMPTY, plan=DayPlan("18:30", (planned("a", "10:00"),), "2026-03-09"))
    assert standings(yesterday) == ["late by 26:00 h"]


def test_what_of_the_station_does_not_work_stands_under_the_date() -> None:
    first = today(replace(EMPTY, gone=("microphone", "power supply"))).blocks[0]
    assert isinstance(first, Lines)
    assert first.texts[1:] == ("Check these: microphone, power supply",)
    well = today(EMPTY).blocks[0]
    assert isinstance(well, Lines)
    assert len(well.texts) == 1


def test_with_a_clock_that_is_not_set_nothing_is_late() -> None:
    facts = replace(EMPTY, plan=PLAN, wall_trusted=False)
    assert set(standings(facts)) == {"to come; the clock is not set"}


def tray(name: str, due: float, *, certain: bool = True) -> Timer:
    return Timer(name, "tray", 14_400.0, due, certain=certain)


def cold(facts: TodayFacts) -> list[tuple[str, ...]]:
    return texts(grid(today(facts), "To be cold, to be clean"))


def test_trays_are_to_be_cold_by_a_time_of_day() -> None:
    # The journal's last stamp: station time 5000 was 11:59.
    state = State(
        timers=(tray("tray 4.2", 5000.0 + 3600.0), tray("tray 4.1", 5000.0 + 1800.0, certain=False))
    )
    assert cold(replace(EMPTY, state=state)) == [
        ("batch 4, tray 1: cold", "about 12:29, the time off is not known"),
        ("batch 4, tray 2: cold", "12:59"),
    ]


def test_a_tray_over_its_time_says_since_when() -> None:
    state = State(timers=(tray("tray 4.1", 5000.0 - 600.0),))
    assert cold(replace(EMPTY, state=state)) == [("batch 4, tray 1: cold", "over since 11:49")]
    not_set = replace(STAMP, wall_trusted=False)
    assert cold(replace(EMPTY, state=state, last=not_set)) == [("batch 4, tray 1: cold", "clock not set")]


def test_an_open_dough_without_a_tray_has_its_time_too() -> None:
    state = replay([OPENING, ev.WaterAdded(at=4000.0, entry=2, grams=450.0, source="voice")])
    # Four hours and 41 F from the first water: US Food Code 3-501.14(B), 3-501.16.
    assert cold(replace(EMPTY, state=state)) == [("batch 4: dough at 5 °C or below", "15:42")]


def test_what_was_asked_and_what_was_answered() -> None:
    water = AddWater(Amount(150.0, exact=True))
    sheet = sheet_of(
        ev.QuestionAsked(at=60.0, reason="past_high", command=water, source="voice", expires=70.0),
        ev.QuestionSettled(at=65.0, yes=False),
        ev.QuestionAsked(at=80.0, reason="unsure", command=water, source="voice", expires=90.0),
        ev.QuestionSettled(at=90.0, yes=None),
        ev.QuestionAsked(at=95.0, reason="twin", command=water, source="voice", expires=105.0),
    )
    page = batch_page(sheet, words(), english(), UTC, last=5)
    assert texts(grid(page, "What was asked, and what was answered")) == [
        ("12:01", "water 150 g", "it passes high", "no"),
        ("12:01", "water 150 g", "it was not heard well", "no answer"),
        ("12:01", "water 150 g", "the number could be another", "-"),
    ]
    ways = next(one for one in page.blocks if isinstance(one, Ways))
    assert [cell.href for cell in ways.cells] == [
        "/batches/3",
        "/batches/5",
        "/paper/sheet/4",
        "/paper/labels/4",
        "/batches",
    ]


def test_hearing_counts_only_the_questions_that_hearing_led_to() -> None:
    water = AddWater(Amount(150.0, exact=True))
    sheet = sheet_of(
        ev.QuestionAsked(at=60.0, reason="past_high", command=water, source="voice", expires=70.0),
        ev.QuestionSettled(at=65.0, yes=False),
        ev.QuestionAsked(at=80.0, reason="unsure", command=water, source="voice", expires=90.0),
        ev.QuestionSettled(at=85.0, yes=True),
        ev.QuestionAsked(at=86.0, reason="unsure", command=water, source="voice", expires=96.0),
        ev.QuestionSettled(at=96.0, yes=None),
    )
    page = hearing_page("2026-03-10", [], [sheet], words(), english(), UTC)
    asked = grid(page, "Questions because it was not heard well")
    assert texts(asked) == [("it was not heard well", "1", "0", "1")]


def test_the_list_leads_to_older_and_newer_batches() -> None:
    page = batches_page([], words(), english(), UTC, before=20)
    (ways,) = [one for one in page.blocks if isinstance(one, Ways)]
    assert [cell.href for cell in ways.cells] == ["/batches?before=70"]


def known_lot(ends: list[float], stocked: StockedLot) -> KnownLot:
    day = NOON / 86_400.0
    seen = tuple(
        Seen(day + at, Bounds(end - 0.3, end), batch=at + 1, ready_pct=end) for at, end in enumerate(ends)
    )
    record = LotRecord("12", "semolina", 13.8, seen, stocked.supplier)
    return KnownLot(record, FlourMemory([record]).forecast("12", day + len(ends)), 30.2, stocked)


def to_mind(one: KnownLot) -> str:
    page = lots_page([one], 0.3, date(2026, 3, 20), words(), english())
    (drawn,) = [block for block in page.blocks if isinstance(block, Drawn)]
    return drawn.grid.rows[0][-1].text


def test_what_is_to_be_minded_of_a_lot() -> None:
    steady = known_lot([31.0] * 6, StockedLot(supplier="M-02", best_before=date(2026, 3, 19)))
    assert to_mind(steady) == "best before 2026-03-19 is past"
    moved = known_lot([31.0] * 10 + [32.4] * 8, StockedLot())
    assert moved.forecast.drift_points > 0.5
    assert to_mind(moved).startswith("takes 1.")
    climbing = known_lot([31.0, 31.1, 31.2, 31.3, 31.4], StockedLot())
    assert "climbed 5 batches running: check how it is stored, and the scales" in to_mind(climbing)


def test_one_lot_in_each_recipe() -> None:
    plain = known_lot([31.0] * 3, StockedLot())
    egg = replace(plain, record=replace(plain.record, lot="12 egg", recipe="egg"))
    page = lot_page("12", [plain, egg], {1: 31.0}, date(2026, 3, 20), words(), english())
    assert egg.lot == "12"
    assert [one.kind for one in page.blocks] == ["facts", "drawn", "lines", "facts", "drawn"]
    (first, _) = [one for one in page.blocks if isinstance(one, Facts)]
    assert ("moisture", Cell("13.8 %")) in first.rows


@pytest.mark.parametrize(
    ("lot", "href"), [("12", "/lots/12"), ("B 1/2", "/lots/B%201%2F2"), ("<a>?#", "/lots/%3Ca%3E%3F%23")]
)
def test_a_lot_of_any_name_has_an_address(lot: str, href: str) -> None:
    assert to_lot(lot) == Cell(lot, href)


@pytest.mark.parametrize("language", ["en", "it"])
def test_every_language_has_all_words_of_the_pages(language: str) -> None:
    own = PageWords.load(grammar_folder(language) / "pages.toml")
    assert own.text("lots.range", low=30.0, high=31.25) != ""
    assert own.text("card.note").split()[0] in ("Switch", "Spegnere")
