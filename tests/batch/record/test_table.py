"""The law of the batch, cell by cell: what each phase allows, where it leads, and the error for the rest."""

from dataclasses import replace

import pytest

from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.announcements import SAYABLE
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks import clock_events as clock
from assistant.batch.record.commands import COMMANDS, PourRest, Undo
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.evolving.transitions import TABLE, diagram, row_name
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.hopper.entries import Entry
from assistant.batch.record.phases import Phase
from assistant.batch.record.press import press_events as press
from assistant.batch.record.printing import print_events as pr
from assistant.batch.record.printing.print_jobs import PrintJob
from assistant.batch.record.state import Question, State, Timer
from assistant.batch.record.steps import Step, Walking
from assistant.errors import ImpossibleEvent
from tests.batch.kitchen import PLANS, mixing

STEPS = (Step("Unplugged.", safety=True), Step("Dry it."))
OPEN_WALK = Walking("clean down", STEPS, 1.0, at=1)
EVENTS: dict[str, ev.Event] = {
    "BatchOpened": ev.BatchOpened(
        at=9,
        batch=1,
        flour_g=1500,
        target_pct=31,
        low_pct=30,
        high_pct=33,
        hopper_g=3000,
        first_pour_g=330,
        lot=None,
        source="voice",
    ),
    "WaterAdded": ev.WaterAdded(at=9, entry=2, grams=100, source="voice"),
    "FlourAdded": ev.FlourAdded(at=9, entry=2, grams=100, source="voice"),
    "EntryCorrected": ev.EntryCorrected(at=9, entry=1, grams=1400, was=1500, source="voice"),
    "EntryWeighed": ev.EntryWeighed(at=9, entry=1, grams=148, source="jug"),
    "Withdrawn": ev.Withdrawn(at=9, what="LotNamed", grams=None),
    "TargetSet": ev.TargetSet(at=9, target_pct=32, low_pct=30, high_pct=33),
    "LotNamed": ev.LotNamed(at=9, lot="471"),
    "RecipeChosen": ev.RecipeChosen(at=9, plan=PLANS["egg"]),
    "ConditionTold": ev.ConditionTold(at=9, what="dough", value=28),
    "CrumbJudged dry": ev.CrumbJudged(at=9, verdict="dry", hydration_pct=22),
    "CrumbJudged ready": ev.CrumbJudged(at=9, verdict="ready", hydration_pct=31),
    "CrumbJudged wet": ev.CrumbJudged(at=9, verdict="wet", hydration_pct=33),
    "MixStarted": ev.MixStarted(at=9, seconds=60, due=69, warn_at=None),
    "MixEnded": ev.MixEnded(at=9),
    "RestStarted": ev.RestStarted(at=9, seconds=60, due=69),
    "RestEnded": ev.RestEnded(at=9),
    "ExtrudingStarted": ev.ExtrudingStarted(at=9, early=False),
    "DieNamed": ev.DieNamed(at=9, die="shells"),
    "AdditionAdded": hop.AdditionAdded(
        at=9, entry=2, grams=300, name="whole egg", water_pct=76.15, source="voice"
    ),
    "AdditionLeftOut": hop.AdditionLeftOut(at=9, name="whole egg"),
    "TakenOut": hop.TakenOut(at=9, entry=2, grams=40, what="dough", source="voice"),
    "ScrapWeighed": ev.ScrapWeighed(at=9, entry=2, grams=40, source="voice"),
    "TrayFilled": ev.TrayFilled(at=9, tray=1),
    "PortionsCounted": ev.PortionsCounted(at=9, count=12),
    "BatchClosed": ev.BatchClosed(at=9),
    "BatchDropped": ev.BatchDropped(at=9),
    "TimerSet": ev.TimerSet(at=9, name="2", seconds=60, due=69),
    "TimerExtended": ev.TimerExtended(at=9, name="1", seconds=60, due=120),
    "TimerStopped": ev.TimerStopped(at=9, name="1"),
    "TimerWarned": ev.TimerWarned(at=9, name="1"),
    "TimerRang": ev.TimerRang(at=9, name="1", next_call=24),
    "TimerCalled": ev.TimerCalled(at=9, name="1", calls=2, next_call=24),
    "TimerAcknowledged": ev.TimerAcknowledged(at=9, name="1"),
    "QuestionAsked": ev.QuestionAsked(at=9, reason="unsure", command=PourRest(), source="voice", expires=19),
    "QuestionSettled": ev.QuestionSettled(at=9, yes=True),
    "ListeningSet": ev.ListeningSet(at=9, on=False),
    "LoudnessSet": ev.LoudnessSet(at=9, steps=1),
    "PaceSet": ev.PaceSet(at=9, steps=1),
    "StationStarted": ev.StationStarted(at=9, shift=5.0, certain=True),
    "TimeOffKnown": clock.TimeOffKnown(at=9, off=7200.0, since=5.0),
    "TimeTold": clock.TimeTold(at=9, wall=1_768_000_000.0, hour=6, minute=10),
    "TimerDoubted": clock.TimerDoubted(at=9, name="1"),
    "WalkBegan": sh.WalkBegan(at=9, walk="die change", steps=STEPS),
    "StepSettled": sh.StepSettled(
        at=9, walk="clean down", step=2, text="Dry it.", outcome="done", safety=False
    ),
    "StepBack": sh.StepBack(at=9, walk="clean down", step=1),
    "WalkLeft": sh.WalkLeft(at=9, walk="clean down"),
    "WalkResumed": sh.WalkResumed(at=9, walk="clean down"),
    "WalkEnded": sh.WalkEnded(at=9, walk="clean down", skipped=1),
    "DieWarmed": sh.DieWarmed(at=9),
    "CrumbLeft": sh.CrumbLeft(at=9),
    "TrayChilled": sh.TrayChilled(at=9, batch=1, tray=1, seconds=60),
    "CookNamed": sh.CookNamed(at=9, cook="Ada"),
    "CutterTold": sh.CutterTold(at=9, speed=40, length_mm=35),
    "TraysSlowed": press.TraysSlowed(at=9, batch=1, slower_pct=40, usual_s=300),
    "DieCleaned": press.DieCleaned(at=9),
    "CleanDownCalled": sh.CleanDownCalled(at=9, batch=1, due=1800),
    "PrintAsked": pr.PrintAsked(at=9, job=2, what="day"),
    "PrintEnded": pr.PrintEnded(at=9, job=1),
    "PrintsTriedAgain": pr.PrintsTriedAgain(at=9),
}
ROWS = [f"{kind.__name__} {one}".strip() for kind, row in TABLE.items() for one in row.moves_by or ("",)]
IN_A_BATCH = [
    "EntryCorrected",
    "EntryWeighed",
    "DieNamed",
    "DieWarmed",
    "AdditionLeftOut",
    "TakenOut",
    "CrumbLeft",
    "TraysSlowed",
    "ScrapWeighed",
    "TrayFilled",
    "PortionsCounted",
    "ConditionTold",
]
EVERYWHERE = [
    "Withdrawn",
    "TargetSet",
    "LotNamed",
    "RecipeChosen",
    "TimerSet",
    "TimerExtended",
    "TimerStopped",
    "TimerWarned",
    "TimerRang",
    "TimerCalled",
    "TimerAcknowledged",
    "QuestionAsked",
    "QuestionSettled",
    "ListeningSet",
    "LoudnessSet",
    "PaceSet",
    "StationStarted",
    "TimeOffKnown",
    "TimeTold",
    "TimerDoubted",
    "DieCleaned",
    "WalkBegan",
    "StepSettled",
    "StepBack",
    "WalkLeft",
    "WalkResumed",
    "WalkEnded",
    "TrayChilled",
    "CookNamed",
    "CutterTold",
    "CleanDownCalled",
    "PrintAsked",
    "PrintEnded",
    "PrintsTriedAgain",
]

# The table once more, written by hand from the kitchen's side: phases in the order of `ORDER`, a dot forbids.
ORDER = "idle pouring mixing resting squeezing ready extruding"
WANTED = {
    "BatchOpened": "pouring . . . . . .",
    "WaterAdded": ". pouring mixing resting pouring pouring extruding",
    "FlourAdded": ". pouring mixing resting pouring pouring extruding",
    "AdditionAdded": ". pouring mixing resting pouring pouring extruding",
    "MixStarted": "idle mixing mixing mixing mixing mixing mixing",
    "MixEnded": ". . squeezing . . . .",
    "RestStarted": "idle resting resting resting resting resting extruding",
    "RestEnded": ". . . squeezing . . extruding",
    "CrumbJudged dry": ". pouring pouring pouring pouring pouring extruding",
    "CrumbJudged ready": ". ready ready ready ready ready extruding",
    "CrumbJudged wet": ". pouring pouring pouring pouring pouring extruding",
    "ExtrudingStarted": ". extruding extruding extruding extruding extruding extruding",
    "BatchClosed": ". idle idle idle idle idle idle",
    "BatchDropped": ". idle idle idle idle idle idle",
    **dict.fromkeys(IN_A_BATCH, ". pouring mixing resting squeezing ready extruding"),
    **dict.fromkeys(EVERYWHERE, ORDER),
}


def state_in(phase: Phase, row: str) -> State:
    """A state in this phase that an event of this row does not contradict."""
    batch = None
    if phase is not Phase.IDLE:
        flour = Entry(1, "flour", 1500.0, "voice", 0.0)
        batch = Batch(1, 0.0, phase, (flour,), 31.0, 30.0, 33.0, 3000.0, 0.72)
    own = {Phase.MIXING: "mix", Phase.RESTING: "rest"}.get(phase)
    timers = (
        Timer("1", "named", 60.0, 60.0, ringing=row == "TimerDoubted", doubtful=row == "TimerDoubted"),
        Timer("tray 1.1", "tray", 14400.0, 14400.0),
        *((Timer(own, own, 60.0, 60.0),) if own else ()),  # type: ignore[arg-type]
    )
    asked = Question("unsure", Undo(), "voice", 19.0) if row == "QuestionSettled" else None
    walks = {
        "WalkBegan": (),
        "WalkResumed": (replace(OPEN_WALK, left_at=4.0),),
    }.get(row, (OPEN_WALK,))
    prints = (PrintJob(1, "label", 1),)
    state = State(batch, timers, asked, next_entry=2, walks=walks, prints=prints)
    return evolve(state, ev.LotNamed(at=5.0, lot="471")) if row == "Withdrawn" else state


@pytest.mark.parametrize("phase", list(Phase), ids=lambda phase: phase.value)
@pytest.mark.parametrize("row", ROWS)
def test_every_pair_of_phase_and_event(phase: Phase, row: str) -> None:
    event, state = EVENTS[row], state_in(phase, row)
    assert row_name(event) == row
    cells = dict(zip(ORDER.split(), WANTED[row].split(), strict=True))
    leads_to = cells[phase.value]
    if leads_to != ".":
        assert evolve(state, event).phase.value == leads_to
        return
    with pytest.raises(ImpossibleEvent) as error:
        evolve(state, event)
    allowed = ", ".join(name for name, cell in cells.items() if cell != ".")
    assert str(error.value) == f"{row} in phase {phase.value}: the table allows it in {allowed}"


def test_every_event_has_its_row_once() -> None:
    made = [
        kind
        for module in (ev, clock, hop, pr, press, sh)
        for kind in vars(module).values()
        if isinstance(kind, type)
    ]
    events = {kind for kind in made if issubclass(kind, ev.Event) and kind is not ev.Event}
    assert set(TABLE) == events
    assert sorted(ROWS) == sorted(WANTED) == sorted(EVENTS)


def test_what_is_taken_back_says_so_in_words_that_exist() -> None:
    for row in TABLE.values():
        if row.undone is not None:
            assert SAYABLE[row.undone.says] <= {"what", "grams", "timer", "batch"}


def test_every_command_has_its_handler() -> None:
    assert set(COMMANDS.values()) == set(HANDLERS)


@pytest.mark.parametrize(
    ("event", "text"),
    [
        (ev.WaterAdded(at=9, entry=7, grams=100, source="voice"), "entry 7: the next one is 2"),
        (
            ev.EntryCorrected(at=9, entry=7, grams=1, was=2, source="voice"),
            "correction of entry 7: this batch has none of that number",
        ),
        (
            ev.Withdrawn(at=9, what="WaterAdded", grams=100),
            "withdrawal of WaterAdded: it is not the last thing that can be undone",
        ),
        (ev.TimerRang(at=9, name="sauce", next_call=24), "an event of timer 'sauce': there is none"),
        (ev.TimerStopped(at=9, name="sauce"), "an event of timer 'sauce': there is none"),
        (clock.TimerDoubted(at=9, name="sauce"), "timer 'sauce' was doubted: it does not ring in doubt"),
        (pr.PrintEnded(at=9, job=7), "printing 7 ended: it does not wait"),
        (ev.QuestionSettled(at=9, yes=True), "a question was settled: none is open"),
        (sh.WalkLeft(at=9, walk="clean down"), "an event of clean down: it is not open"),
        (sh.WalkResumed(at=9, walk="clean down"), "clean down goes on: it was not left, or another is open"),
    ],
    ids=lambda value: type(value).__name__ if not isinstance(value, str) else "",
)
def test_an_event_that_contradicts_the_state(event: ev.Event, text: str) -> None:
    with pytest.raises(ImpossibleEvent) as error:
        evolve(mixing(1500).state, event)
    assert str(error.value) == text


def test_two_questions_at_once_are_our_bug() -> None:
    asked = evolve(mixing(1500).state, EVENTS["QuestionAsked"])
    with pytest.raises(ImpossibleEvent) as error:
        evolve(asked, EVENTS["QuestionAsked"])
    assert str(error.value) == "a question was asked: one is open"


def test_the_diagram_shows_every_move_of_the_table_once() -> None:
    moves = [
        f"    {a} --> {b}: {row}"
        for row in ROWS
        if row not in IN_A_BATCH and row not in EVERYWHERE
        for a, b in zip(ORDER.split(), WANTED[row].split(), strict=True)
        if b not in (".", a)
    ]
    assert diagram().splitlines() == ["stateDiagram-v2", "    [*] --> idle", *moves]
