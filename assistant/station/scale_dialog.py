"""The jug scale calibrated by voice: which commands move it on, and what is said at each step.

The steps themselves are in `devices.scale.calibrating`. None of it is an event of the batch.
"""

from collections.abc import Callable

from assistant.batch.record.announcements import SAYABLE, Announcement, say
from assistant.batch.record.commands import (
    Answer,
    Ask,
    Cancel,
    Command,
    GivenAmount,
    SayAgain,
    Walk,
    WalkMove,
)
from assistant.batch.record.state import State
from assistant.devices.scale.calibrating import LEFT, Guide, Guided
from assistant.devices.scale.jug_scale import Calibrated, JugScale, NotKept, Report
from assistant.devices.scale.weight import Calibration
from assistant.dough.amounts import MILLILITRES_PER, Amount


def calibration_report(report: Report) -> Announcement:
    """What is said of a step of the calibration."""
    match report:
        case Calibrated():
            return say("calibrated", "taken", grams=report.grams)
        case NotKept():
            return say("calibrate_not_kept")
        case Guided():
            key = f"calibrate_{report.what}"
            values = {name: float(round(getattr(report, name))) for name in SAYABLE[key]}
            return say(key, None if report.what in ("hands_off", *LEFT) else "question", **values)
        case _:
            raise TypeError(report)


def begin(scale: JugScale, state: State, *, unsure: bool) -> Announcement:
    """Begin to calibrate, or say why not now: a question or a walk-through is open, or the jug is lifted."""
    if scale.guide is None:
        if state.question is not None:
            return say("yes_or_no", "question")
        if state.walk is not None:
            return say("calibrate_walk", walk=state.walk.name)
        if unsure:
            return say("calibrate_again", "question")
    found = scale.calibrate(batch_open=state.batch is not None)
    if found == "gone":
        return say("scale_lost")
    return say("calibrate_jug_off") if found == "jug_off" else calibration_report(found)


def go_on(scale: JugScale, guide: Guide, command: Command, *, unsure: bool) -> Announcement | None:
    """Move a calibration on; None for a command that does not concern it."""
    move: Callable[[Guide], Guided | Calibration]
    match command:
        case WalkMove("leave") | Cancel():
            move = Guide.left
        case WalkMove("done" | "next") if not unsure:
            move = Guide.go_on
        case Answer(yes) if not unsure:
            move = lambda guide: guide.answer(yes)  # noqa: E731
        case GivenAmount(Amount(unit=unit)) if guide.wants_weight and unit in MILLILITRES_PER:
            return say("unit_unfit", "question", command="given_amount")
        case GivenAmount(amount):
            move = lambda guide: guide.weight(amount.grams(1.0), unsure=unsure)  # noqa: E731
        case WalkMove() | Answer() | SayAgain() | Ask("next" | "help"):
            move = Guide.prompt
        case Walk():
            return say("scale_calibrating")
        case _:
            return None
    report = scale.guided(move)
    return None if report is None else calibration_report(report)
