"""A batch over time: every point is a line of its sheet; struck entries are hollow, verdicts have signs."""

from assistant.batch.record import events as ev
from assistant.ports import Stamp
from assistant.sheets import Sheet, build_sheet
from assistant.sheets.charts.batch_figure import batch_figure
from tests.sheets.charts.reading import texts, values
from tests.sheets.words import english

OPENING = ev.BatchOpened(
    at=0.0, batch=1, flour_g=1500.0, target_pct=31.0, low_pct=30.0, high_pct=33.0, hopper_g=3000.0,
    first_pour_g=335.0, lot="12", source="voice",
)  # fmt: skip


def sheet_of(*events: ev.Event) -> Sheet:
    """The sheet of a batch with these events after its opening."""
    found = (OPENING, *events)
    return build_sheet([(Stamp(n, 1e9 + e.at, e.at, "b", True), e) for n, e in enumerate(found, 1)])


SHEET = sheet_of(
    ev.WaterAdded(at=60.0, entry=2, grams=450.0, source="voice"),
    ev.MixStarted(at=70.0, seconds=120.0, due=190.0, warn_at=None),
    ev.TimerRang(at=190.0, name="mix", next_call=205.0),
    ev.CrumbJudged(at=200.0, verdict="dry", hydration_pct=30.0),
    ev.WaterAdded(at=240.0, entry=3, grams=150.0, source="voice"),
    ev.EntryCorrected(at=250.0, entry=3, grams=15.0, was=150.0, source="voice"),
    ev.CrumbJudged(at=300.0, verdict="ready", hydration_pct=31.0),
    ev.RestStarted(at=310.0, seconds=90.0, due=400.0),
    ev.CrumbJudged(at=380.0, verdict="ready", hydration_pct=31.0),
)


def test_the_line_is_the_account_as_it_was_known() -> None:
    # 100 x 450 / 1500 = 30 %, 600 of 1500 g are 40 %, and 465 of them 31 %: baker's percent.
    steps = [(one["at"], one["pct"]) for one in values(batch_figure(SHEET, english()), "water")]
    assert steps == [(0.0, 0.0), (1.0, 30.0), (4.0, 40.0), (4.167, 31.0), (6.65, 31.0)]


def test_a_corrected_entry_is_hollow_and_stays_in_the_table() -> None:
    figure = batch_figure(SHEET, english())
    assert [one["pct"] for one in values(figure, "gone")] == [40.0]
    assert [one["pct"] for one in values(figure, "drop")] == [30.0, 31.0]
    struck = [row for row in figure.table.rows if row[1] == "x"]
    assert [row[2] for row in struck] == ["water 150 g"]


def test_verdicts_have_a_sign_and_a_word_each() -> None:
    figure = batch_figure(SHEET, english())
    assert [(one["verdict"], one["pct"]) for one in values(figure, "verdict")] == [
        ("dry", 30.0), ("ready", 31.0), ("ready", 31.0),
    ]  # fmt: skip
    assert texts(figure).count("ready") == 2


def test_mixing_and_resting_are_as_long_as_they_were() -> None:
    figure = batch_figure(SHEET, english())
    (mixing,), (resting,) = values(figure, "mixing"), values(figure, "resting")
    assert (mixing["at"], mixing["to"]) == (round(70 / 60, 3), round(190 / 60, 3))
    # The rest was ended by the verdict after 70 of its 90 seconds.
    assert (resting["at"], resting["to"]) == (round(310 / 60, 3), round(380 / 60, 3))


def test_the_marks_are_named_with_their_figures() -> None:
    assert {"low 30.0 %", "target 31.0 %", "high 33.0 %"} <= set(texts(batch_figure(SHEET, english())))


def test_what_decides_has_room_on_the_axis() -> None:
    scale = batch_figure(SHEET, english()).spec["layer"][0]["encoding"]["y"]["scale"]
    low, high = scale["domain"]
    assert 0.0 < low < 30.0
    assert high > 40.0


def test_a_batch_that_was_only_opened_is_drawn() -> None:
    figure = batch_figure(sheet_of(), english())
    assert not figure.empty
    assert values(figure, "drop") == []
    assert figure.title == "Batch 1, lot 12: hydration over time"
