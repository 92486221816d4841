"""`crumbcall scale`: read, calibrate and record the jug scale, and play a recording of it."""

import json
from collections.abc import Callable, Iterator
from itertools import chain
from pathlib import Path
from threading import Event

import click

from assistant.app.adapters import open_reader, real_clock
from assistant.app.application import open_application
from assistant.app.scale_setup import calibration_keeper, calibration_of, chosen_scale
from assistant.cli.options import bounded
from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.home import Home
from assistant.config.station_settings import ScaleSettings
from assistant.devices.scale.jug_scale import SILENT_S, JugScale, Replayed, Report
from assistant.devices.scale.pouring import Dripped, Pour, Refill
from assistant.devices.scale.samples import read_samples, sample_lines
from assistant.devices.scale.weight import (
    LEAST_MASS_G,
    load_calibration,
    save_calibration,
    spread,
    two_points,
)
from assistant.dough.ranges import MOST_HOPPER_G, Range
from assistant.errors import DeviceError
from assistant.ports import ScaleReader

LOOK_S = 0.005
READ_S = 3.0


@click.group("scale", no_args_is_help=True)
def scale_command() -> None:
    """Read, calibrate and record the jug scale.

    Example: crumbcall scale calibrate 2000
    """


@scale_command.command("read")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.pass_obj
def read_command(home: Home, as_json: bool) -> None:
    """Read the scale for three seconds: samples a second, grams, noise.

    Example: crumbcall scale read
    """
    settings = open_application(home).settings.scale
    calibration = load_calibration(home.scale_file)
    samples = list(_samples(settings, READ_S))
    counts = [one for _, one in samples]
    found = {
        "samples_per_s": round(len(samples) / READ_S, 1),
        "counts": round(sum(counts) / len(counts)),
        "counts_spread": spread(counts),
        "grams": None if calibration is None else round(calibration.grams(sum(counts) / len(counts)), 1),
        "noise_g": None
        if calibration is None
        else round(spread(counts) / abs(calibration.counts_per_gram), 2),
    }
    if as_json:
        click.echo(json.dumps(found))
        return
    click.echo(f"{found['samples_per_s']} samples a second, {found['counts']} counts.")
    if calibration is None:
        click.echo("Not calibrated: crumbcall scale calibrate MASS.")
    else:
        click.echo(f"{found['grams']} g, noise {found['noise_g']} g.")


KNOWN_MASS_G = Range(
    what="known mass", unit="g", least=LEAST_MASS_G, most=MOST_HOPPER_G, basis="least: a calibration needs it"
)


@scale_command.command("calibrate", cls=FigureCommand)
@click.argument("mass_g", type=Quantity(KNOWN_MASS_G))
@click.option("--note", default="", help="A word to keep with it, as the kitchen's temperature.")
@click.pass_obj
def calibrate_command(home: Home, mass_g: float, note: str) -> None:
    """Calibrate with a known mass in grams, about what a full jug weighs.

    Example: crumbcall scale calibrate 2000 --note "21 degrees"
    """
    settings = open_application(home).settings.scale
    click.prompt("Take everything off the plate, then press Enter", default="", show_default=False)
    empty = [counts for _, counts in _samples(settings, READ_S)]
    put_on = f"Put {mass_g:g} g on the middle of the plate, then press Enter"
    click.prompt(put_on, default="", show_default=False)
    loaded = [counts for _, counts in _samples(settings, READ_S)]
    calibration = two_points(empty, loaded, mass_g, made_at=real_clock().wall(), note=note)
    save_calibration(home.scale_file, calibration)
    click.echo(
        f"Calibrated: {calibration.counts_per_gram:.1f} counts a gram, noise {calibration.noise_g:.2f} g. "
        f"Kept in {home.scale_file}."
    )


@scale_command.command("record")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--seconds", type=bounded(1, 3600), default=60.0, show_default=True, help="How long.")
@click.pass_obj
def record_command(home: Home, file: Path, seconds: float) -> None:
    """Record raw samples to a file, for support or for listen --scale replay:FILE.

    Example: crumbcall scale record jug.csv --seconds 120
    """
    settings = open_application(home).settings.scale
    samples = _samples(settings, seconds)
    first = next(samples)  # no file where there is no scale
    lines = sample_lines(load_calibration(home.scale_file), chain([first], samples))
    try:
        kept = file.open("w", encoding="utf-8")
    except OSError as error:
        raise DeviceError(f"{file} can't be written ({error.strerror}); name another file.") from error
    with kept:
        count = sum(kept.write(f"{line}\n") > 0 for line in lines)
    click.echo(f"{count} lines in {file}.")


@scale_command.command("replay")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.pass_obj
def replay_command(home: Home, file: Path, as_json: bool) -> None:
    """Say what happened to the jug in a recording.

    Example: crumbcall scale replay jug.csv
    """
    samples = read_samples(file)
    at = 0.0

    def tell(report: Report) -> None:
        grams = round(report.grams, 1) if isinstance(report, Pour | Refill | Dripped) else None
        name = type(report).__name__.lower()
        if as_json:
            click.echo(json.dumps({"at": round(at, 1), "what": name, "grams": grams}))
        else:
            click.echo(f"{at:7.1f} s  {name}{'' if grams is None else f' {grams:g} g'}")

    played = Replayed(
        JugScale(calibration_of(home, samples), tell, calibration_keeper(home.scale_file, real_clock())),
        samples,
        0.0,
    )
    while (next_at := played.next_at) is not None:
        at = next_at
        played.upto(at)


def _samples(settings: ScaleSettings, seconds: float) -> Iterator[tuple[float, int]]:
    """Samples of the scale of the settings, for this long (s). Raises DeviceError."""
    chip = chosen_scale(None, settings)
    if chip is None or isinstance(chip, Path):
        raise DeviceError(
            'No jug scale is set; write chip = "nau7802" or "hx711" under [scale] in the settings.'
        )
    reader = open_reader(chip, settings.rate)
    try:
        yield from timed(reader, seconds, real_clock().monotonic, Event())
    finally:
        reader.close()


def timed(
    reader: ScaleReader, seconds: float, now: Callable[[], float], wait: Event
) -> Iterator[tuple[float, int]]:
    """Samples of a reader for this long (s), with their times (s from the beginning). Raises DeviceError."""
    start = last = now()
    while (at := now()) - start < seconds:
        counts = reader.poll()
        if counts is not None:
            last = at
            yield at - start, counts
        elif at - last > SILENT_S:
            raise DeviceError(f"The scale gave no reading for {SILENT_S:g} s; check its wires.")
        wait.wait(LOOK_S)
