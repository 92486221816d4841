"""The law of the batch, cell by cell: what each phase allows, where it leads, and the error for all the rest."""

from dataclasses import replace

import pytest

from assistant.batch.decide.decide import _ACT
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import COMMANDS, PourRest, Undo
from assistant.batch.record.evolve import _APPLY, evolve, row_of
from assistant.batch.record.state import Batch, Entry, Question, State, Timer
from assistant.batch.record.steps import Step, Walking
from assistant.batch.record.transitions import EVERYWHERE, IN_A_BATCH, TABLE, Phase, after, diagram
from assistant.errors import ImpossibleEvent
from tests.batch.kitchen import PLANS, mixing

STEPS = (Step("Unplugged.", safety=True), Step("Dry it."))
OPEN_WALK = Walking("clean down", STEPS, 1.0, at=1)
EVENTS: dict[str, ev.Event] = {
    "BatchOpened": ev.BatchOpened(9, 1, 1500, 31, 30, 33, 3000, 330, None, "voice"),
    "WaterAdded": ev.WaterAdded(9, 2, 100, "voice"),
    "FlourAdded": ev.FlourAdded(9, 2, 100, "voice"),
    "EntryCorrected": ev.EntryCorrected(9, 1, 1400, 1500, "voice"),
    "EntryWeighed": ev.EntryWeighed(9, 1, 148, "jug"),
    "Withdrawn": ev.Withdrawn(9, "LotNamed", None),
    "TargetSet": ev.TargetSet(9, 32, 30, 33),
    "LotNamed": ev.LotNamed(9, "471"),
    "RecipeChosen": ev.RecipeChosen(9, PLANS["egg"]),
    "ConditionTold": ev.ConditionTold(9, "dough", 28),
    "CrumbJudged dry": ev.CrumbJudged(9, "dry", 22),
    "CrumbJudged ready": ev.CrumbJudged(9, "ready", 31),
    "CrumbJudged wet": ev.CrumbJudged(9, "wet", 33),
    "MixStarted": ev.MixStarted(9, 60, 69, None),
    "MixEnded": ev.MixEnded(9),
    "RestStarted": ev.RestStarted(9, 60, 69),
    "RestEnded": ev.RestEnded(9),
    "ExtrudingStarted": ev.ExtrudingStarted(9, early=False),
    "DieNamed": ev.DieNamed(9, "shells"),
    "ScrapWeighed": ev.ScrapWeighed(9, 2, 40, "voice"),
    "TrayFilled": ev.TrayFilled(9, 1),
    "PortionsCounted": ev.PortionsCounted(9, 12),
    "BatchClosed": ev.BatchClosed(9),
    "BatchDropped": ev.BatchDropped(9),
    "TimerSet": ev.TimerSet(9, "2", 60, 69),
    "TimerExtended": ev.TimerExtended(9, "1", 60, 120),
    "TimerStopped": ev.TimerStopped(9, "1"),
    "TimerWarned": ev.TimerWarned(9, "1"),
    "TimerRang": ev.TimerRang(9, "1", 24),
    "TimerCalled": ev.TimerCalled(9, "1", 2, 24),
    "TimerAcknowledged": ev.TimerAcknowledged(9, "1"),
    "QuestionAsked": ev.QuestionAsked(9, "unsure", PourRest(), "voice", 19),
    "QuestionSettled": ev.QuestionSettled(9, yes=True),
    "ListeningSet": ev.ListeningSet(9, on=False),
    "LoudnessSet": ev.LoudnessSet(9, 1),
    "PaceSet": ev.PaceSet(9, 1),
    "StationStarted": ev.StationStarted(9, 5.0, certain=True),
    "WalkBegan": sh.WalkBegan(9, "die change", STEPS),
    "StepSettled": sh.StepSettled(9, "clean down", 2, "Dry it.", "done", safety=False),
    "StepBack": sh.StepBack(9, "clean down", 1),
    "WalkLeft": sh.WalkLeft(9, "clean down"),
    "WalkResumed": sh.WalkResumed(9, "clean down"),
    "WalkEnded": sh.WalkEnded(9, "clean down", 1),
    "DieWarmed": sh.DieWarmed(9),
    "TrayChilled": sh.TrayChilled(9, 1, 1, 60),
    "CutterTold": sh.CutterTold(9, 40, 35),
}
ROWS = [*TABLE, *sorted(IN_A_BATCH), *sorted(EVERYWHERE)]

# The table once more, written by hand from the kitchen's side: phases in the order of `ORDER`, a dot forbids.
ORDER = "idle pouring mixing resting squeezing ready extruding"
WANTED = {
    "BatchOpened": "pouring . . . . . .",
    "WaterAdded": ". pouring mixing resting pouring pouring extruding",
    "FlourAdded": ". pouring mixing resting pouring pouring extruding",
    "MixStarted": "idle mixing mixing mixing mixing mixing mixing",
    "MixEnded": ". . squeezing . . . .",
    "RestStarted": "idle resting resting resting resting resting resting",
    "RestEnded": ". . . squeezing . . .",
    "CrumbJudged dry": ". pouring pouring pouring pouring pouring extruding",
    "CrumbJudged ready": ". ready ready ready ready ready extruding",
    "CrumbJudged wet": ". pouring pouring pouring pouring pouring extruding",
    "ExtrudingStarted": ". extruding extruding extruding extruding extruding extruding",
    "BatchClosed": ". idle idle idle idle idle idle",
    "BatchDropped": ". idle idle idle idle idle idle",
    **dict.fromkeys(IN_A_BATCH, ". pouring mixing resting squeezing ready extruding"),
    **dict.fromkeys(EVERYWHERE, ORDER),
}
ALLOWED_TEXT = {
    "BatchOpened": "idle",
    "MixEnded": "mixing",
    "RestEnded": "resting",
    **dict.fromkeys(IN_A_BATCH, "every phase but idle"),
}
NOT_IDLE = "pouring, mixing, resting, squeezing, ready, extruding"


def state_in(phase: Phase, row: str) -> State:
    """A state in this phase that an event of this row does not contradict."""
    batch = None
    if phase is not Phase.IDLE:
        flour = Entry(1, "flour", 1500.0, "voice", 0.0)
        batch = Batch(1, 0.0, phase, (flour,), 31.0, 30.0, 33.0, 3000.0, 0.72)
    own = {Phase.MIXING: "mix", Phase.RESTING: "rest"}.get(phase)
    timers = (
        Timer("1", "named", 60.0, 60.0),
        Timer("tray 1.1", "tray", 14400.0, 14400.0),
        *((Timer(own, own, 60.0, 60.0),) if own else ()),  # type: ignore[arg-type]
    )
    asked = Question("unsure", Undo(), "voice", 19.0) if row == "QuestionSettled" else None
    walks = {
        "WalkBegan": (),
        "WalkResumed": (replace(OPEN_WALK, left_at=4.0),),
    }.get(row, (OPEN_WALK,))
    state = State(batch, timers, asked, next_entry=2, walks=walks)
    return evolve(state, ev.LotNamed(5.0, "471")) if row == "Withdrawn" else state


@pytest.mark.parametrize("phase", list(Phase), ids=lambda phase: phase.value)
@pytest.mark.parametrize("row", ROWS)
def test_every_pair_of_phase_and_event(phase: Phase, row: str) -> None:
    event, state = EVENTS[row], state_in(phase, row)
    assert row_of(event) == row
    leads_to = WANTED[row].split()[ORDER.split().index(phase.value)]
    if leads_to != ".":
        assert evolve(state, event).phase.value == leads_to
        assert after(phase, row) is Phase(leads_to)
        return
    with pytest.raises(ImpossibleEvent) as error:
        evolve(state, event)
    assert (
        str(error.value)
        == f"{row} in phase {phase.value}: the table allows it in {ALLOWED_TEXT.get(row, NOT_IDLE)}"
    )


def test_every_event_class_has_its_row_and_its_change() -> None:
    assert {row.split()[0] for row in ROWS} == set(ev.EVENTS)
    assert set(ev.EVENTS.values()) == set(_APPLY)
    assert set(WANTED) == set(ROWS) == set(EVENTS)


def test_every_command_has_its_handler() -> None:
    assert set(COMMANDS.values()) == set(_ACT)


@pytest.mark.parametrize(
    ("event", "text"),
    [
        (ev.WaterAdded(9, 7, 100, "voice"), "entry 7: the next one is 2"),
        (ev.EntryCorrected(9, 7, 1, 2, "voice"), "correction of entry 7: this batch has none of that number"),
        (
            ev.Withdrawn(9, "WaterAdded", 100),
            "withdrawal of WaterAdded: it is not the last thing that can be undone",
        ),
        (ev.TimerRang(9, "sauce", 24), "an event of timer 'sauce': there is none"),
        (ev.TimerStopped(9, "sauce"), "an event of timer 'sauce': there is none"),
        (ev.QuestionSettled(9, yes=True), "a question was settled: none is open"),
        (sh.WalkLeft(9, "clean down"), "an event of clean down: it is not open"),
        (sh.WalkResumed(9, "clean down"), "clean down goes on: it was not left, or another is open"),
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
        for row in TABLE
        for a, b in zip(ORDER.split(), WANTED[row].split(), strict=True)
        if b not in (".", a)
    ]
    assert diagram().splitlines() == ["stateDiagram-v2", "    [*] --> idle", *moves]
