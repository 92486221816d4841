"""The jug scale put together: chip, calibration, what it reports to the loop, what it answers when asked."""

from collections.abc import Callable, Iterable
from pathlib import Path
from queue import Queue
from typing import Literal

from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.commands import Answer, Calibrate, Command, ReadJug, ZeroJug
from assistant.batch.record.state import State
from assistant.config.home import Home
from assistant.config.station_settings import ScaleSettings
from assistant.devices.scale.calibrating import Guided
from assistant.devices.scale.jug_scale import (
    Back,
    Calibrated,
    Gone,
    JugScale,
    Keep,
    Live,
    NotKept,
    Overloaded,
    Replayed,
    Report,
)
from assistant.devices.scale.pouring import Drifted, Dripped, NotAlone, Pour, Unsteady
from assistant.devices.scale.samples import Samples, read_samples
from assistant.devices.scale.weight import Calibration, load_calibration
from assistant.errors import DeviceError
from assistant.ports import Asking, ScaleReader
from assistant.station.messages import Message, Noticed, Weighed
from assistant.station.scale_dialog import begin, go_on, keeper, led
from assistant.station.workers import Worker

Chip = Literal["nau7802", "hx711"]
_CHIPS: dict[str, Chip] = {"nau7802": "nau7802", "hx711": "hx711"}
_REPLAY = "replay:"


def chosen(scale: str | None, settings: ScaleSettings) -> Chip | Path | None:
    """What is asked for on the command line, else in the settings: a chip, recorded samples, or no scale.

    Raises DeviceError for anything else.
    """
    wanted = settings.chip if scale is None else scale
    if wanted.startswith(_REPLAY):
        return Path(wanted.removeprefix(_REPLAY))
    if wanted in _CHIPS:
        return _CHIPS[wanted]
    if wanted == "none":
        return None
    raise DeviceError(
        f'Found the scale "{wanted}", allowed are none, nau7802, hx711 and replay:FILE; name one.'
    )


def recorded_scale(scale: str | None) -> Samples | None:
    """Recorded samples to play beside a recording; None without. A chip can't be: DeviceError."""
    wanted = chosen(scale, ScaleSettings())
    if wanted is None:
        return None
    if not isinstance(wanted, Path):
        raise DeviceError(
            f'Found the scale "{wanted}" beside a recording, allowed is replay:FILE; name a file.'
        )
    return read_samples(wanted)


def open_reader(chip: Chip, rate: int) -> ScaleReader:
    """The chip's reader. Raises DeviceError."""
    if chip == "nau7802":
        from assistant.devices.scale.i2c import I2cFile
        from assistant.devices.scale.nau7802 import ADDRESS, Nau7802

        return Nau7802(I2cFile(ADDRESS), rate)
    from assistant.devices.scale.hx711 import Hx711, SpiPort

    return Hx711(SpiPort())


def calibration_of(home: Home, samples: Samples | None = None) -> Calibration:
    """The calibration that recorded samples carry, else the kitchen's. Raises DeviceError."""
    found = (samples.calibration if samples else None) or load_calibration(home.scale_file)
    if found is None:
        raise DeviceError("The jug scale is not calibrated; do it with crumbcall scale calibrate.")
    return found


def message_of(report: Report) -> Weighed | Noticed | None:
    """What the loop is told; None for what needs no word."""
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
        case Drifted():
            return Noticed("scale_drifted", {"grams": abs(report.grams)})
        case Gone():
            return Noticed("scale_lost")
        case Back():
            return Noticed("scale_works")
        case Guided() | Calibrated() | NotKept():
            announcement = led(report)
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


class Weighing:
    """A scale for a station: fitted live with `worker`, or beside a recording with `upto`.

    `calibration` None: it waits to be calibrated. `keep` writes a new one down for good.
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
        """What it waits for, beside commands."""
        guide = self.scale.guide
        return False if guide is None else "weight" if guide.wants_weight else True

    def answer(self, command: Command, state: State, *, unsure: bool) -> Announcement | None:
        """What it says to a command; None where the command is none of its own."""
        if isinstance(command, ZeroJug | ReadJug):
            return answer(self.scale, command)
        if isinstance(command, Calibrate):
            return begin(self.scale, state, unsure=unsure)
        guide = self.scale.guide
        if guide is None or (isinstance(command, Answer) and state.question is not None):
            return None
        return go_on(self.scale, guide, command, unsure=unsure)

    def live(self, chip: Chip, rate: int, now: Callable[[], float]) -> Worker:
        """A worker that reads the chip."""
        live = Live(self.scale, lambda: open_reader(chip, rate), now, rate=rate)
        return Worker("jug scale", live.run, self._inbox)

    def replayed(self, samples: Samples, now: Callable[[], float]) -> Worker:
        """A worker that plays recorded samples as time goes on."""
        played = Replayed(self.scale, samples, now())
        return Worker("jug scale", lambda stop: played.run(stop, now), self._inbox)

    def beside(self, samples: Samples, start: float) -> Callable[[float], Iterable[Weighed | Noticed]]:
        """Recorded samples beside recorded sound: gives what the scale reports up to a time (s)."""
        played = Replayed(self.scale, samples, start)

        def upto(now: float) -> Iterable[Weighed | Noticed]:
            played.upto(now)
            while not self._inbox.empty():
                message = self._inbox.get_nowait()
                if isinstance(message, Weighed | Noticed):
                    yield message

        return upto


def fit_scale(
    home: Home, settings: ScaleSettings, scale: str | None, inbox: "Queue[Message]", now: Callable[[], float]
) -> tuple[Weighing, Worker] | None:
    """The scale that is asked for, live, and its worker; None without one. Raises DeviceError."""
    wanted = chosen(scale, settings)
    if wanted is None:
        return None
    samples = read_samples(wanted) if isinstance(wanted, Path) else None
    keep = keeper(home.scale_file)
    if samples is not None:
        weighing = Weighing(calibration_of(home, samples), inbox, keep)
        return weighing, weighing.replayed(samples, now)
    assert not isinstance(wanted, Path)
    weighing = Weighing(load_calibration(home.scale_file), inbox, keep)
    return weighing, weighing.live(wanted, settings.rate, now)
