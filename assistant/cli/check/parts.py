"""The parts that a kitchen may fit: found or not, what was measured, what to do."""

from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from threading import Event

from assistant.app.adapters import Chip, open_reader, open_switch, real_clock
from assistant.app.application import Application
from assistant.app.fitted_parts import PIN_OUTPUTS, PinOutput, has_foot_switch
from assistant.app.paper.printers import label_printer, sheet_printer
from assistant.app.scale_setup import chosen_scale
from assistant.cli.check.finding import Finding, tried
from assistant.cli.scale import timed
from assistant.devices.pins import ABSENT
from assistant.devices.scale.jug_scale import Pace
from assistant.devices.scale.weight import SATURATED, load_calibration, spread
from assistant.errors import DeviceError
from assistant.ports import ScaleReader

_FIT = "Nothing, unless you fit one: hardware/README.md."
LOOK_S = 2.0
"""How long the scale is read (s)."""
RATE_LOOK_S = 0.8
"""How much of that its rate is taken from (s): a board of ten a second leaves out the first second."""


def parts_of(app: Application, open_scale: Callable[[Chip, int], ScaleReader] = open_reader) -> list[Finding]:
    """A finding for each part; one that the settings don't name is absent, and nothing is to be done."""
    settings = app.settings
    chip = chosen_scale(None, settings.scale)
    return [
        *(_output(part, part.gpio(settings.pins)) for part in PIN_OUTPUTS),
        _part(
            "foot switch",
            has_foot_switch(settings),
            lambda: _switch(app),
            "Free it, dry it, or check its wires; until then all is heard.",
        ),
        _part(
            "jug scale",
            chip is not None,
            lambda: _scale(app, open_scale),
            "See hardware/README.md, when something is wrong; until then say water and how much.",
        ),
        _part(
            "label printer",
            settings.printer.kind != "none",
            lambda: label_printer(settings.printer).look(),
            "See hardware/README.md, printer; until then crumbcall label shows the text.",
        ),
        _part(
            "sheet printer",
            bool(settings.printer.sheets),
            lambda: sheet_printer(settings.printer).look(),
            "See hardware/README.md, printer; until then crumbcall sheet shows the text.",
        ),
    ]


def _part(part: str, named: bool, look: Callable[[], str], do: str) -> Finding:
    return (
        tried(part, look, do=do)
        if named
        else Finding(part=part, works=False, needed=False, found="not named in the settings", do=_FIT)
    )


def _output(part: PinOutput, gpio: int) -> Finding:
    def look() -> str:
        part.open(gpio).close()
        return f"GPIO {gpio} opens; look or listen whether it lights or sounds"

    return _part(part.name, gpio != ABSENT, look, "See hardware/README.md, wiring.")


def _switch(app: Application) -> str:
    switch = open_switch(app.settings)
    try:
        if switch.down():
            raise DeviceError("It is down: something is on it, its contact is wet, or its wires touch.")
        return "opens, and is up"
    finally:
        switch.close()


def _scale(app: Application, open_scale: Callable[[Chip, int], ScaleReader]) -> str:
    settings = app.settings.scale
    chip = chosen_scale(None, settings)
    assert chip is not None
    assert not isinstance(chip, Path)
    calibration = load_calibration(app.home.scale_file)
    reader = open_scale(chip, settings.rate)
    try:
        samples = list(timed(reader, LOOK_S, real_clock().monotonic, Event()))
    finally:
        reader.close()
    counts = [one for _, one in samples]
    if any(one in SATURATED for one in counts):
        raise DeviceError("It is at the end of its range: overloaded, or a wire of the cell is off.")
    gap = max((after - before for (before, _), (after, _) in pairwise(samples)), default=LOOK_S)
    found = f"{chip}: {len(samples) / LOOK_S:.0f} samples a second, longest gap {gap * 1000:.0f} ms"
    found += rate_note(samples, settings.rate)
    if calibration is None:
        raise DeviceError(f"{found}; not calibrated: crumbcall scale calibrate.")
    noise = spread(counts) / abs(calibration.counts_per_gram)
    grams = calibration.grams(sum(counts) / len(counts))
    worse = " (unsteady: what shakes it?)" if noise > 40 else ""
    before = f"{calibration.noise_g:.2f} g when it was calibrated"
    return f"{found}, {grams:.0f} g, noise {noise:.2f} g{worse}, {before}"


def rate_note(samples: Sequence[tuple[float, int]], set_to: int) -> str:
    """What to say where samples, with their times (s), come at another rate than is set; "" else."""
    pace = Pace(RATE_LOOK_S)
    wired = next((rate for at, _ in samples if (rate := pace.sample(at)) is not None), set_to)
    if wired == set_to:
        return ""
    return f" (the settings say {set_to}: write rate = {wired} under [scale], or wire its pin RATE)"
