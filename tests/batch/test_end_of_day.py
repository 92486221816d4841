"""The end of the day, aloud: what is open first, two sentences at most, and nothing happens by it."""

from collections.abc import Iterable
from dataclasses import replace

from assistant.batch.record.commands import Ask, CloseBatch, NewBatch, Rest, TrayDone
from assistant.batch.record.rules import DayFigures
from tests.batch.kitchen import PLANNED, REMEMBERS, Kitchen, typed

MADE = ("day_made", {"batches": 3, "portions": 41, "scrap": 120.0})
SHORT = ("day_made_short", {"batches": 3, "portions": 41})


def kilos(grams: Iterable[float]) -> float:
    """Flour (g) up to a whole kilo."""
    return float(-(-sum(grams) // 1000) * 1000)


FIGURES = DayFigures(3, 41, 120.0, ("12", "471"))


def kitchen(figures: DayFigures | None = FIGURES) -> Kitchen:
    return Kitchen(known=replace(REMEMBERS, day=lambda: figures))


def test_nothing_open_is_the_days_figures_alone() -> None:
    assert kitchen().say(Ask("day")) == [MADE, ("day_lots", {"lots": 2, "lot": "12"})]


def test_an_open_batch_comes_first() -> None:
    one = kitchen()
    one.say(NewBatch(typed(1500)))
    assert one.say(Ask("day")) == [("day_open", {"batch": 1}), SHORT]


def test_what_rings_comes_before_an_open_batch() -> None:
    one = kitchen()
    one.say(NewBatch(typed(1500)))
    one.say(Rest(60))
    one.wait(60)
    first, second = one.say(Ask("day"))
    assert first[0] != "day_open"
    assert second == SHORT


def test_trays_that_are_not_cold_come_last_and_before_the_order() -> None:
    one = kitchen()
    one.known = replace(one.known, plan=PLANNED)
    assert one.say(Ask("day")) == [MADE, ("day_wanted", {"flour": kilos(p.flour_g for p in PLANNED)})]
    one.say(NewBatch(typed(700)))
    one.say(TrayDone())
    one.say(TrayDone())
    one.say(CloseBatch())
    assert one.say(Ask("day")) == [MADE, ("day_trays", {"trays": 2})]


def test_a_planned_batch_that_is_made_is_not_wanted_any_more() -> None:
    one = kitchen()
    one.known = replace(one.known, plan=PLANNED)
    one.say(NewBatch(typed(PLANNED[0].flour_g)))
    one.say(CloseBatch())
    assert one.say(Ask("day"))[-1] == ("day_wanted", {"flour": kilos(p.flour_g for p in PLANNED[1:])})


def test_what_the_shelf_lacks_for_the_plan_is_ordered_by_the_kilo() -> None:
    wanted = sum(one.flour_g for one in PLANNED)
    for left, said in ((wanted - 1200.0, 2000.0), (wanted - 1.0, 1000.0)):
        one = kitchen(replace(FIGURES, left_g=(("12", 200.0), ("471", left - 200.0))))
        one.known = replace(one.known, plan=PLANNED)
        assert one.say(Ask("day")) == [MADE, ("day_order", {"flour": said})]


def test_where_the_shelf_holds_it_nothing_is_ordered_and_the_lots_are_said() -> None:
    one = kitchen(replace(FIGURES, left_g=(("12", 50_000.0),)))
    one.known = replace(one.known, plan=PLANNED)
    assert one.say(Ask("day")) == [MADE, ("day_lots", {"lots": 2, "lot": "12"})]


def test_no_batch_and_no_record_are_different() -> None:
    assert kitchen(DayFigures(0, 0, 0.0)).say(Ask("day")) == [("day_nothing", {})]
    assert kitchen(None).say(Ask("day")) == [("day_unknown", {})]


def test_nothing_happens_by_it() -> None:
    one = kitchen()
    one.say(NewBatch(typed(1500)))
    events = list(one.events)
    one.say(Ask("day"))
    assert one.events == events


def test_a_kilo_of_scrap_and_more_is_said_in_hundreds() -> None:
    said = [kitchen(DayFigures(1, 1, grams)).say(Ask("day"))[0][1]["scrap"] for grams in (999.0, 1230.0)]
    assert said == [999.0, 1200.0]


def test_large_figures_leave_lots_and_scrap_to_the_sheet() -> None:
    for figures in (DayFigures(10, 41, 120.0, ("12",)), DayFigures(3, 100, 120.0, ("12",))):
        one = kitchen(figures)
        assert [key for key, _ in one.say(Ask("day"))] == ["day_made"]
        one.known = replace(one.known, plan=PLANNED)
        assert [key for key, _ in one.say(Ask("day"))] == ["day_made_short", "day_wanted"]
