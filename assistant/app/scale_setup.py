"""Which jug scale is asked for, on the command line or in the settings, and how it is put together."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from queue import Queue

from assistant.app.adapters import Chip, open_reader
from assistant.config.home import Home
from assistant.config.station_settings import ScaleSettings
from assistant.devices.scale.jug_scale import Keep, Live, Replayed
from assistant.devices.scale.samples import Samples, read_samples
from assistant.devices.scale.weight import Calibration, load_calibration, save_calibration
from assistant.errors import DeviceError
from assistant.ports import Clock
from assistant.station.messages import Message
from assistant.station.scale_adapter import ScaleAdapter
from assistant.station.workers import Worker

_CHIPS: dict[str, Chip] = {"nau7802": "nau7802", "hx711": "hx711"}
_REPLAY = "replay:"


def chosen_scale(scale: str | None, settings: ScaleSettings) -> Chip | Path | None:
    """What the command line asks for, else the settings: a chip, a file of recorded samples, or no scale.

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
    """Recorded samples to play along with a recording; None without. Raises DeviceError for a chip."""
    wanted = chosen_scale(scale, ScaleSettings())
    if wanted is None:
        return None
    if not isinstance(wanted, Path):
        raise DeviceError(
            f'Found the scale "{wanted}" beside a recording, allowed is replay:FILE; name a file.'
        )
    return read_samples(wanted)


def calibration_of(home: Home, samples: Samples | None = None) -> Calibration:
    """The calibration in the recorded samples, else the kitchen's. Raises DeviceError where there is none."""
    found = (samples.calibration if samples else None) or load_calibration(home.scale_file)
    if found is None:
        raise DeviceError("The jug scale is not calibrated; do it with crumbcall scale calibrate.")
    return found


def calibration_keeper(file: Path, clock: Clock) -> Keep:
    """Writes a calibration to the file, with the time at which it was made."""

    def keep(calibration: Calibration) -> None:
        save_calibration(file, replace(calibration, made_at=clock.wall()))

    return keep


@dataclass(frozen=True, slots=True)
class FittedScale:
    """A scale for a live station, and the worker that feeds it."""

    adapter: ScaleAdapter
    worker: Worker


def fit_scale(
    home: Home,
    settings: ScaleSettings,
    scale: str | None,
    inbox: "Queue[Message]",
    clock: Clock,
    alive: Callable[[], None] = lambda: None,
) -> FittedScale | None:
    """The scale that is asked for, live; None without one. Raises DeviceError.

    `alive`: called while the chip is polled.
    """
    wanted = chosen_scale(scale, settings)
    if wanted is None:
        return None
    keep, now = calibration_keeper(home.scale_file, clock), clock.monotonic
    if isinstance(wanted, Path):
        samples = read_samples(wanted)
        adapter = ScaleAdapter(calibration_of(home, samples), inbox, keep)
        played = Replayed(adapter.scale, samples, now())
        return FittedScale(adapter, Worker("jug scale", lambda stop: played.run(stop, now), inbox))
    adapter = ScaleAdapter(load_calibration(home.scale_file), inbox, keep)
    live = Live(
        adapter.scale, lambda: open_reader(wanted, settings.rate), now, rate=settings.rate, alive=alive
    )
    return FittedScale(adapter, Worker("jug scale", live.run, inbox))
