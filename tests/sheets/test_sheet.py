"""The batch sheet says what happened, with figures that agree with the account; nothing is hidden."""

from datetime import UTC, timedelta, timezone
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.batch.decide.decide import Due, Request, Said, Started, decide, next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.sheets import Sheet, batch_sheet, batch_table, build_sheet, sheet_markdown, sheet_text
from assistant.sheets.allergens import KitchenAllergens
from assistant.sheets.label import label_of, label_text
from assistant.sheets.sheet import SheetLine
from assistant.testing.journal import MemoryJournal
from tests.sheets.words import english


def grams(value: float) -> Amount:
    return Amount(value, exact=True)


class Day:
    """A station that journals what a cook says, as the loop does: what is due goes first."""

    def __init__(self, *steps: tuple[float, cmd.Command], trusted: bool = True) -> None:
        self.clock = ScriptedClock(trusted=trusted)
        self.journal = MemoryJournal(self.clock)
        self.state = State()
        for seconds, command in steps:
            self.say(seconds, command)

    def say(self, seconds: float, command: cmd.Command, *, unsure: bool = False) -> None:
        """Wait this long (s), then say it; `unsure`: it is not heard well."""
        self._do_after(seconds, Said(command, "voice", "as said", unsure))

    def pour(self, seconds: float, mass_g: float) -> None:
        """Wait this long (s), then pour from the jug on the scale."""
        self._do_after(seconds, Said(cmd.AddWater(grams(mass_g)), "jug"))

    def _do_after(self, seconds: float, request: Request) -> None:
        until = self.clock.monotonic() + seconds
        while (due := next_due(self.state)) is not None and due <= until:
            self.clock.move(max(0.0, due - self.clock.monotonic()))
            self._do(Due())
        self.clock.move(max(0.0, until - self.clock.monotonic()))
        self._do(request)

    def restart(self, *, off_s: float, shift: float, certain: bool) -> None:
        self.clock.reboot("second", off_s=off_s)
        self._do(Started(shift, certain))

    def _do(self, request: Request) -> None:
        decision = decide(self.state, request, self.clock.monotonic(), BatchRules())
        self.journal.append(decision.events)
        for event in decision.events:
            self.state = evolve(self.state, event)

    def happen(self, event: ev.Event) -> None:
        """What came from elsewhere."""
        self.journal.append([event])
        self.state = evolve(self.state, event)

    def sheet(self, number: int = 1) -> Sheet:
        return build_sheet(self.journal.batch(number))


def what(line: SheetLine) -> str:
    return english().phrase(line.what)


def notes(line: SheetLine) -> tuple[str, ...]:
    return tuple(english().phrase(note) for note in line.notes)


def lines(sheet: Sheet, beginning: str) -> list[SheetLine]:
    return [line for line in sheet.lines if what(line).startswith(beginning)]


MORNING: tuple[tuple[float, cmd.Command], ...] = (
    (0.0, cmd.SetLot("4471")),
    (5.0, cmd.NewBatch(grams(1500))),
    (20.0, cmd.AddWater(grams(150))),
    (10.0, cmd.AddWater(grams(185))),
    (5.0, cmd.Mix(120.0)),
    (125.0, cmd.GotIt()),
    (5.0, cmd.JudgeCrumb("dry")),
    (20.0, cmd.PourRest()),
    (5.0, cmd.Mix(60.0)),
    (40.0, cmd.Mixer(on=False)),
    (5.0, cmd.JudgeCrumb("ready")),
    (5.0, cmd.NewDie("bronze")),
    (20.0, cmd.Extruding()),
    (30.0, cmd.Scrap(grams(40))),
    (60.0, cmd.TrayDone()),
    (60.0, cmd.Portions(16)),
    (10.0, cmd.CloseBatch()),
)


def test_the_figures_of_a_batch() -> None:
    sheet = Day(*MORNING).sheet()
    assert (sheet.number, sheet.lot, sheet.outcome) == (1, "4471", "closed")
    # 465 g in 1500 g are 31.00 % (baker's percent); 1500 + 465 - 40 = 1925 g, 97.96 % of 1965 g.
    assert (sheet.flour_g, sheet.water_g, sheet.hydration_pct) == (1500.0, 465.0, 31.0)
    assert (sheet.dough_g, sheet.scrap_g, sheet.net_g) == (1965.0, 40.0, 1925.0)
    assert sheet.yield_pct == pytest.approx(97.964, abs=0.001)
    assert (sheet.target_pct, sheet.low_pct, sheet.high_pct) == (31.0, 30.0, 33.0)
    assert (sheet.crumb, sheet.extruded_early, sheet.dies) == ("ready", False, ("bronze",))
    assert (sheet.trays, sheet.portions) == (1, 16)
    assert sheet.ended is not None
    assert sheet.ended.since_s == sum(seconds for seconds, _ in MORNING[2:])


def test_hydration_runs_along_with_the_entries() -> None:
    sheet = Day(*MORNING).sheet()
    # 100 x 150 / 1500, 100 x 335 / 1500, 100 x 465 / 1500.
    assert [line.hydration_pct for line in lines(sheet, "water")] == pytest.approx(
        [10.0, 22.333, 31.0], abs=0.001
    )
    assert [(what(line), line.hydration_pct) for line in lines(sheet, "crumb")] == [
        ("crumb dry", pytest.approx(22.333, abs=0.001)),
        ("crumb ready", 31.0),
    ]
    assert [line.source for line in lines(sheet, "water")] == ["voice"] * 3


def test_mixes_say_what_was_wanted_and_how_long_they_ran() -> None:
    sheet = Day(*MORNING).sheet()
    assert [(what(line), notes(line)) for line in lines(sheet, "mix")] == [
        ("mix 2:00", ("ran 2:00",)),
        ("mix 1:00", ("ran 0:40",)),
    ]


def test_a_mix_that_goes_on_says_so_and_a_longer_one_too() -> None:
    day = Day((0, cmd.NewBatch(grams(1500))), (1, cmd.Mix(60.0)), (20, cmd.AddTime(30.0)))
    assert [(what(line), notes(line)) for line in lines(day.sheet(), "mix")] == [
        ("mix 1:00", ("still running",)),
        ("mix 0:30 more", ()),
    ]
    day.say(100, cmd.GotIt())
    assert notes(lines(day.sheet(), "mix 1:00")[0]) == ("ran 1:30",)


def test_a_corrected_entry_is_struck_and_stays() -> None:
    sheet = Day(
        (0, cmd.NewBatch(grams(1500))), (10, cmd.AddWater(grams(150))), (5, cmd.MakeThat(grams(115)))
    ).sheet()
    first, corrected = lines(sheet, "water 150 g")[0], lines(sheet, "correction")[0]
    assert (first.struck, notes(first)) == (True, ("corrected to 115 g",))
    assert (corrected.struck, what(corrected)) == (False, "correction: water 115 g, not 150 g")
    assert corrected.hydration_pct == pytest.approx(7.667, abs=0.001)  # 100 x 115 / 1500
    assert sheet.water_g == 115.0


def test_a_correction_that_is_taken_back_is_struck_and_the_entry_counts_again() -> None:
    sheet = Day(
        (0, cmd.NewBatch(grams(1500))),
        (10, cmd.AddWater(grams(150))),
        (5, cmd.MakeThat(grams(115))),
        (5, cmd.Undo()),
    ).sheet()
    assert not lines(sheet, "water 150 g")[0].struck
    corrected = lines(sheet, "correction")[0]
    assert (corrected.struck, notes(corrected)) == (True, ("taken back",))
    assert what(lines(sheet, "taken back")[0]) == "taken back: correction: water 115 g, not 150 g"
    assert lines(sheet, "taken back")[0].hydration_pct == 10.0
    assert sheet.water_g == 150.0


def test_the_opening_flour_can_be_corrected() -> None:
    sheet = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.MakeThat(grams(1400)))).sheet()
    assert sheet.flour_g == 1400.0
    assert (lines(sheet, "flour 1500 g")[0].struck, notes(lines(sheet, "flour 1500 g")[0])) == (
        True,
        ("corrected to 1400 g",),
    )


def test_what_is_taken_back_is_struck_never_hidden() -> None:
    sheet = Day(
        (0, cmd.NewBatch(grams(1500))),
        (10, cmd.AddWater(grams(150))),
        (10, cmd.AddWater(grams(100))),
        (5, cmd.Undo()),
        (5, cmd.Undo()),
    ).sheet()
    assert [(what(line), line.struck) for line in sheet.lines] == [
        ("flour 1500 g", False),
        ("water 150 g", True),
        ("water 100 g", True),
        ("taken back: water 100 g", False),
        ("taken back: water 150 g", False),
    ]
    assert (sheet.water_g, sheet.hydration_pct) == (0.0, 0.0)


def test_questions_have_their_answers_beside_them() -> None:
    day = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.AddWater(grams(450))))
    day.say(5, cmd.AddWater(grams(100)))
    day.say(2, cmd.Answer(yes=False))
    day.say(5, cmd.AddWater(grams(100)))
    day.say(30, cmd.AddWater(grams(60)))
    day.say(2, cmd.Answer(yes=True))
    sheet = day.sheet()
    assert [(what(line), notes(line)) for line in lines(sheet, "asked")] == [
        ("asked: water 100 g?", ("it passes high", "no")),
        ("asked: water 100 g?", ("it passes high", "no answer")),
        ("asked: water 60 g?", ("it passes high", "yes")),
    ]
    assert sheet.water_g == 510.0


UNWRITTEN = {"missing", "said_wrong"}
"""Questions for a value: what they led to is on the sheet, the question is not."""


@pytest.mark.parametrize("reason", sorted(set(get_args(ev.Reason)) - UNWRITTEN))
def test_a_question_of_any_reason_is_on_sheet_and_label(reason: ev.Reason) -> None:
    day = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.AddWater(grams(450))))
    asked = ev.QuestionAsked(
        at=5.0, reason=reason, command=cmd.MakeThat(grams(430)), source="jug", expires=15.0
    )
    day.journal.append([asked, ev.QuestionSettled(at=9.0, yes=False)])
    (line,) = lines(day.sheet(), "asked: make that 430 g?")
    why, answer = notes(line)
    assert why == english().word("reason", reason)
    assert answer == "no"
    assert f"{why}; no" in sheet_text(day.sheet(), english(), UTC)
    assert label_text(label_of(day.sheet(), english(), KitchenAllergens().of(day.sheet()), zone=UTC))


def test_a_value_that_was_missing_leaves_no_line() -> None:
    day = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.Incomplete("water", "number")))
    assert day.sheet().lines == Day((0, cmd.NewBatch(grams(1500)))).sheet().lines
    day.say(2, cmd.GivenAmount(grams(300)))
    assert what(day.sheet().lines[-1]) == "water 300 g"


def test_jug_and_voice_that_differ_are_on_the_sheet() -> None:
    day = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.AddWater(grams(150))))
    day.pour(4, 115)
    day.say(2, cmd.Answer(yes=True))
    asked = lines(day.sheet(), "asked")
    assert [(what(line), line.source, notes(line)) for line in asked] == [
        ("asked: make that 115 g?", "jug", ("jug and voice differ", "yes"))
    ]


def test_a_temperature_that_was_asked_about_is_not_shown_as_a_time() -> None:
    day = Day((0, cmd.NewBatch(grams(1500))))
    day.say(5, cmd.TellCondition("dough", 25.0), unsure=True)
    assert [what(line) for line in lines(day.sheet(), "asked")] == ["asked: dough 25 C?"]


def test_extruding_before_ready_is_shown() -> None:
    sheet = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.AddWater(grams(450))), (5, cmd.Extruding())).sheet()
    assert sheet.extruded_early is True
    assert notes(lines(sheet, "extruding")[0]) == ("early: no crumb was called ready",)
    assert "extruded:  before the crumb was called ready" in sheet_text(sheet, english(), UTC)


def test_closing_dropping_and_taking_back() -> None:
    opened: tuple[float, cmd.Command] = (0, cmd.NewBatch(grams(1500)))
    assert Day(opened).sheet().outcome == "open"
    assert Day(opened, (5, cmd.DropBatch())).sheet().outcome == "dropped"
    reopened = Day(opened, (5, cmd.CloseBatch()), (5, cmd.Undo())).sheet()
    assert (reopened.outcome, reopened.ended) == ("open", None)
    taken_back = Day(opened, (5, cmd.Undo())).sheet()
    assert taken_back.outcome == "taken back"
    assert lines(taken_back, "flour")[0].struck


def test_over_a_restart_times_count_on_from_the_opening() -> None:
    day = Day((100, cmd.NewBatch(grams(1500))), (50, cmd.AddWater(grams(150))))
    # Written at 150 s of the first boot; 600 s later the second boot begins at 0: old times move by -750 s.
    day.restart(off_s=600.0, shift=-750.0, certain=True)
    day.say(20, cmd.AddWater(grams(100)))
    sheet = day.sheet()
    assert [line.moment.since_s for line in lines(sheet, "water")] == [50.0, 670.0]
    assert notes(lines(sheet, "station restarted")[0]) == ()
    assert sheet.certain


def test_a_restart_of_unknown_length_says_so() -> None:
    day = Day((100, cmd.NewBatch(grams(1500))), (50, cmd.AddWater(grams(150))))
    day.restart(off_s=600.0, shift=-150.0, certain=False)
    sheet = day.sheet()
    assert not sheet.certain
    assert notes(lines(sheet, "station restarted")[0]) == (
        "time off not known: what follows may be later than told",
    )
    assert "times:     uncertain after a restart: the time off is not known" in sheet_text(
        sheet, english(), UTC
    )


def test_a_batch_reopened_in_another_boot_keeps_its_time() -> None:
    day = Day((100, cmd.NewBatch(grams(1500))), (50, cmd.CloseBatch()))
    day.restart(off_s=600.0, shift=-750.0, certain=True)
    day.say(20, cmd.Undo())
    day.say(30, cmd.AddWater(grams(100)))
    assert lines(day.sheet(), "water")[0].moment.since_s == 700.0


def test_where_the_clock_was_not_set_that_is_said_and_times_since_opening_count() -> None:
    sheet = Day(*MORNING, trusted=False).sheet()
    text = sheet_text(sheet, english(), UTC)
    assert not sheet.clock_set
    assert "opened:    2026-01-12 07:00 (clock not set)" in text
    assert "clock not set   0:20        water 150 g" in text
    assert "| clock not set | 0:20 |  | water 150 g |" in sheet_markdown(sheet, english(), UTC)


def test_plain_text_has_the_whole_batch() -> None:
    text = sheet_text(Day(*MORNING, (5.0, cmd.Undo()), (5.0, cmd.CloseBatch())).sheet(), english(), UTC)
    for line in (
        "Batch 1",
        "opened:    2026-01-12 07:00",
        "lot:       4471",
        "target:    31.0 %, low 30.0 %, high 33.0 %",
        "water:     465 g",
        "hydration: 31.0 %",
        "net:       1925 g, 98.0 % of the dough",
        "time   since  void  what                      by     hydration  notes",
        "07:00   0:20        water 150 g               voice     10.0 %",
        "07:07   7:00  x     batch closed                                taken back",
    ):
        assert line in text.splitlines()


def test_times_of_day_are_of_the_zone_that_is_asked_for() -> None:
    sheet = Day(*MORNING).sheet()
    assert "opened:    2026-01-12 16:00" in sheet_text(sheet, english(), timezone(timedelta(hours=9)))


def test_markdown_marks_what_is_void_and_keeps_its_table_whole() -> None:
    day = Day((0, cmd.NewBatch(grams(1500))), (5, cmd.AddWater(grams(150))), (5, cmd.Undo()))
    day.say(5, cmd.NewDie("bronze | fine\nline"))
    table = [
        line for line in sheet_markdown(day.sheet(), english(), UTC).splitlines() if line.startswith("|")
    ]
    assert "| 07:00 | 0:05 | x | water 150 g | voice | 10.0 % | taken back |" in table
    assert {line.replace("\\|", "").count("|") for line in table} == {8}


@pytest.mark.parametrize("write", [sheet_text, sheet_markdown])
def test_cautions_are_on_every_sheet_with_who_says_so(write: object) -> None:
    assert callable(write)
    text = str(write(Day(*MORNING).sheet(), english(), UTC))
    # US Food Code 3-501.14(B): dough from ingredients at room temperature to 5 C within 4 hours; 3-501.16:
    # cold holding at 5 C. 29 CFR 1910.147: unplugged, the plug in one's own control.
    for word in (
        "Do not taste raw dough",
        "within 4 hours",
        "3-501.14(B)",
        "5 C (41 F) or below",
        "29 CFR 1910.147",
    ):
        assert word in text
    assert "local code decides" in text
    assert "no HACCP record" in text
    assert "EU, UK: gluten (wheat); US: wheat." in text
    cautions = [line for line in text.splitlines() if line.startswith("- ") and line.endswith((")", ")*"))]
    assert len(cautions) == 4


def test_a_sheet_out_of_a_whole_journal_is_the_same() -> None:
    day = Day(*MORNING, (5, cmd.SetTimer("sauce", 60.0)), (5, cmd.NewBatch(grams(2000))), (5, cmd.Undo()))
    day.say(5, cmd.NewBatch(grams(1000)))
    for number in (1, 2, 3):
        assert batch_sheet(day.journal.read(), number) == day.sheet(number)
    with pytest.raises(ValueError, match=r"^no batch 4 in this journal$"):
        batch_sheet(day.journal.read(), 4)


def test_events_that_begin_with_no_opening_are_our_bug() -> None:
    day = Day(*MORNING)
    with pytest.raises(ValueError, match=r"^a batch begins with BatchOpened, not with WaterAdded$"):
        build_sheet(day.journal.batch(1)[1:])


def test_batches_in_a_table() -> None:
    day = Day(*MORNING, (5, cmd.NewBatch(grams(2000))))
    assert batch_table(day.journal.batches(), english(), UTC) == [
        "batch  opened             flour  water  hydration  crumb  lot   state",
        "    1  2026-01-12 07:00  1500 g  465 g     31.0 %  ready  4471  closed",
        "    2  2026-01-12 07:07  2000 g    0 g      0.0 %  -      -     open",
    ]
    assert batch_table([], english(), UTC) == ["No batch yet."]
    untrusted = Day((0, cmd.NewBatch(grams(1500))), trusted=False)
    assert "2026-01-12 07:00 (clock not set)" in batch_table(untrusted.journal.batches(), english(), UTC)[1]


AMOUNTS = st.sampled_from([10.0, 40.0, 150.0]).map(grams)
SAID: st.SearchStrategy[cmd.Command] = st.one_of(
    AMOUNTS.map(cmd.AddWater),
    AMOUNTS.map(cmd.AddFlour),
    AMOUNTS.map(cmd.Scrap),
    AMOUNTS.map(cmd.MakeThat),
    st.sampled_from([30.0, 32.0]).map(cmd.SetTarget),
    st.sampled_from(["7", "8"]).map(cmd.SetLot),
    st.sampled_from([cmd.Undo()] * 4),
    st.sampled_from([cmd.Mix(60.0), cmd.Rest(45.0), cmd.Mixer(on=False), cmd.AddTime(20.0), cmd.StopTimer()]),
    st.sampled_from([cmd.JudgeCrumb("dry"), cmd.JudgeCrumb("ready"), cmd.JudgeCrumb("wet"), cmd.Extruding()]),
    st.sampled_from([cmd.TrayDone(), cmd.Portions(5), cmd.NewDie("bronze"), cmd.SetTimer("sauce", 30.0)]),
    st.sampled_from([cmd.Answer(yes=True), cmd.Answer(yes=False), cmd.CloseBatch(), cmd.DropBatch()]),
    st.sampled_from([cmd.NewBatch(grams(500))]),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([0.0, 5.0, 70.0]), SAID), max_size=25))
def test_whatever_is_said_the_sheet_agrees_with_the_account(said: list[tuple[float, cmd.Command]]) -> None:
    day = Day((0.0, cmd.NewBatch(grams(1000))), *said)
    for line in day.journal.batches():
        sheet = day.sheet(line.number)
        text = sheet_text(sheet, english(), UTC)
        assert sheet.outcome == line.outcome
        assert (sheet.flour_g, sheet.water_g) == pytest.approx((line.flour_g, line.water_g))
        assert sheet.lot == line.lot
        for event in (event for _, event in day.journal.batch(line.number)):
            if isinstance(event, ev.WaterAdded):
                assert f"water {event.grams:g} g" in text, "nothing is hidden"
    batch = day.state.batch
    if batch is not None:
        sheet = day.sheet(batch.number)
        assert (sheet.scrap_g, sheet.trays, sheet.portions) == (batch.scrap_g, batch.trays, batch.portions)
        assert (sheet.target_pct, sheet.low_pct, sheet.high_pct) == (
            batch.target_pct,
            batch.low_pct,
            batch.high_pct,
        )
        assert (sheet.dies[-1] if sheet.dies else None) == batch.die
        running = [line for line in sheet.lines if "still running" in notes(line)]
        if batch.number == 1:
            timed = [t for t in day.state.timers if t.name in ("mix", "rest") and not t.ringing]
            assert len(running) == len(timed)


def test_what_was_confirmed_far_outside_the_marks_is_on_the_sheet() -> None:
    day = Day(
        (0.0, cmd.NewBatch(grams(1500))),
        (5.0, cmd.AddWater(grams(330))),
        (5.0, cmd.JudgeCrumb("ready")),
        (5.0, cmd.Answer(yes=True)),
        (5.0, cmd.CloseBatch()),
        (5.0, cmd.Answer(yes=True)),
    )
    sheet = day.sheet()
    why, not_counted = "it is far outside low and high", "far outside the marks: does not count for the lot"
    assert [(what(line), notes(line)) for line in sheet.lines[2:]] == [
        ("asked: crumb ready?", (why, "yes")),
        ("crumb ready", (not_counted,)),
        ("asked: close batch?", (why, "yes")),
        ("batch closed", (not_counted,)),
    ]
    assert sheet.crumb == "ready"
    assert "ready" in sheet_text(sheet, english())


@pytest.mark.parametrize(
    ("command", "asked", "why"),
    [
        (cmd.SetLot("472"), "asked: lot 472?", "the batch has another lot"),
        (cmd.Portions(40), "asked: portions 40?", "they are more than the dough"),
        (cmd.AddWater(grams(100)), "asked: water 100 g?", "the same was just poured"),
    ],
    ids=str,
)
def test_a_question_is_on_the_sheet_with_its_reason(command: cmd.Command, asked: str, why: str) -> None:
    day = Day((0.0, cmd.NewBatch(grams(1500))), (5.0, cmd.SetLot("471")), (5.0, cmd.AddWater(grams(100))))
    day.say(5.0, command)
    day.say(5.0, cmd.Answer(yes=False))
    line = day.sheet().lines[-1]
    assert (what(line), notes(line)) == (asked, (why, "no"))
