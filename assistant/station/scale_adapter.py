"""The jug scale for a station: its reports become messages, and it answers what the cook asks it."""

from queue import Queue

from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.commands import Answer, Calibrate, Command, ReadJug, ZeroJug
from assistant.batch.record.state import State
from assistant.devices.scale.calibrating import Guided
from assistant.devices.scale.jug_scale import (
    Back,
    Calibrated,
    Gone,
    JugScale,
    Keep,
    NotKept,
    OtherRate,
    Overloaded,
    Report,
)
from assistant.devices.scale.pouring import Drifted, Dripped, NotAlone, Pour, Unsteady
from assistant.devices.scale.weight import Calibration
from assistant.ports import Asking
from assistant.station.messages import Message, Noticed, Weighed
from assistant.station.scale_dialog import begin, calibration_report, go_on


def message_of(report: Report) -> Weighed | Noticed | None:
    """The message for the loop; None for a report that needs no word."""
    match report:
        case Pour():
            return Weighed(report.grams, report.sure)
        case Dripped():
            return Noticed("jug_dripped", {"grams": report.grams})
        case NotAlone():
            return Noticed("jug_not_alone")
        case Unsteady():
            return Noticed("jug_unsteady")
        case Overloaded():
            return Noticed("scale_overloaded")
        case OtherRate():
            return Noticed("scale_rate", {"found": report.found, "set_to": report.set_to})
        case Drifted():
            return Noticed("scale_drifted", {"grams": abs(report.grams)})
        case Gone():
            return Noticed("scale_lost")
        case Back():
            return Noticed("scale_works")
        case Guided() | Calibrated() | NotKept():
            announcement = calibration_report(report)
            return Noticed(announcement.key, announcement.values, announcement.tone)
        case _:
            return None


_LACKS = {"gone": "scale_lost", "calibrating": "scale_calibrating", "uncalibrated": "scale_uncalibrated"}


def answer(scale: JugScale, command: ZeroJug | ReadJug) -> Announcement:
    """What the scale says when the cook asks it."""
    if isinstance(command, ZeroJug):
        done = scale.zero()
        if done == "zeroed":
            return say("jug_zeroed", "taken")
        return say(({"loaded": "jug_not_off"} | _LACKS)[done])
    found, grams = scale.read()
    if found == "steady":
        return say("on_scale", grams=float(round(grams)))
    return say(({"off": "jug_off", "unsteady": "jug_unsteady"} | _LACKS)[found])


class ScaleAdapter:
    """A jug scale for a station: posts what it sees to `inbox`, answers what the cook asks.

    `calibration` None: it waits to be calibrated. `keep` writes a new one to disk. A worker or a recording
    feeds `scale` with samples.
    """

    def __init__(self, calibration: Calibration | None, inbox: "Queue[Message]", keep: Keep) -> None:
        self._inbox = inbox
        self.scale = JugScale(calibration, self._report, keep)

    def _report(self, report: Report) -> None:
        message = message_of(report)
        if message is not None:
            self._inbox.put(message)

    @property
    def asking(self) -> Asking:
        """What it waits for, in addition to commands."""
        guide = self.scale.guide
        if guide is None:
            return Asking.NOTHING
        return Asking.AMOUNT if guide.wants_weight else Asking.ANSWER

    def answer(self, command: Command, state: State, *, unsure: bool) -> Announcement | None:
        """What it says to a command; None where the command is not one of its own."""
        if isinstance(command, ZeroJug | ReadJug):
            return answer(self.scale, command)
        if isinstance(command, Calibrate):
            return begin(self.scale, state, unsure=unsure)
        guide = self.scale.guide
        if guide is None or (isinstance(command, Answer) and state.question is not None):
            return None
        return go_on(self.scale, guide, command, unsure=unsure)
