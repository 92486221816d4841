import json
from pathlib import Path
from threading import Event

import pytest

from assistant.cli import scale as cli
from assistant.cli.scale import timed
from assistant.devices.scale.weight import load_calibration, save_calibration
from assistant.errors import DeviceError
from tests.cli.conftest import Run
from tests.devices.scale.plate import Plate, counts_of
from tests.devices.scale.test_weighing import CALIBRATION, FULL, kept


class Chip:
    """A scale that gives its loads one after another, a reading at each poll; each opening takes the next."""

    def __init__(self, *loads: float) -> None:
        self.loads = list(loads)

    def open(self, _chip: str, _rate: int) -> "Chip":
        self.load = self.loads.pop(0)
        return self

    def poll(self) -> int | None:
        return counts_of(CALIBRATION, self.load)

    def close(self) -> None:
        pass


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text('[scale]\nchip = "nau7802"\n')
    monkeypatch.setattr(cli, "READ_S", 0.02)
    return home


def fit(monkeypatch: pytest.MonkeyPatch, chip: Chip) -> None:
    monkeypatch.setattr(cli, "open_reader", chip.open)


def test_calibrate_asks_for_both_points(run: Run, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fit(monkeypatch, Chip(0.0, 2000.0))
    found = run("scale", "calibrate", "2kg", "--note", "21 degrees", lines=["", ""])
    assert (found.status, found.err) == (0, "")
    assert "Take everything off the plate" in found.out
    assert "Put 2000 g on the middle of the plate" in found.out
    made = load_calibration(home / "scale.json")
    assert made is not None
    assert made.counts_per_gram == pytest.approx(420)
    assert (made.mass_g, made.note) == (2000, "21 degrees")


def test_a_mass_that_is_too_small_is_said_first(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fit(monkeypatch, Chip())
    for mass in ("50", "50g", "0.05 kg"):
        found = run("scale", "calibrate", mass)
        assert found.status == 2
        assert (
            found.err == "crumbcall: known mass 50 g: from 200 to 50000 g is allowed; give another figure.\n"
        )
    assert not (home / "scale.json").exists()


def test_read_tells_grams_and_noise(run: Run, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fit(monkeypatch, Chip(640.0, 640.0))
    assert "Not calibrated: crumbcall scale calibrate MASS." in run("scale", "read").out
    save_calibration(home / "scale.json", CALIBRATION)
    found = json.loads(run("scale", "read", "--json").out)
    assert found["grams"] == 640.0
    assert found["noise_g"] == 0.0


@pytest.mark.usefixtures("home")
def test_a_recording_can_be_replayed(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fit(monkeypatch, Chip(640.0))
    file = tmp_path / "jug.csv"
    monkeypatch.setattr(cli, "timed", lambda *_: iter([(0.0, 5), (0.1, 6)]))
    assert run("scale", "record", str(file)).out == f"3 lines in {file}.\n"
    kept(Plate(10.0).stay(2).move(FULL, 0.3).stay(4).lift(3, FULL - 150).stay(4), file)
    found = run("scale", "replay", str(file), "--json").objects
    assert [(one["what"], round(one["grams"], -1)) for one in found] == [("pour", 150)]
    assert "pour 1" in run("scale", "replay", str(file)).out


def test_without_a_scale_each_command_is_one_clear_line(run: Run, tmp_path: Path) -> None:
    for arguments in (["read"], ["calibrate", "2000"], ["record", str(tmp_path / "x.csv")]):
        found = run("scale", *arguments, lines=["", ""])
        assert found.status == 2
        assert found.err.splitlines()[-1] == (
            'crumbcall: No jug scale is set; write chip = "nau7802" or "hx711" under [scale] in the settings.'
        )


class _Wait(Event):
    now = 0.0

    def wait(self, timeout: float | None = None) -> bool:
        self.now += timeout or 0.0
        return False


def test_samples_have_their_times_and_silence_is_reported() -> None:
    clock, chip = _Wait(), Chip(1.0)
    chip.open("", 0)
    found = list(timed(chip, 0.02, lambda: clock.now, clock))
    assert [round(at, 3) for at, _ in found] == [0.0, 0.005, 0.01, 0.015]

    class _Silent:
        def poll(self) -> int | None:
            return None

        def close(self) -> None:
            pass

    with pytest.raises(DeviceError, match=r"^The scale gave no reading for 3 s; check its wires\.$"):
        list(timed(_Silent(), 60.0, lambda: clock.now, clock))


def test_the_calibration_of_a_recording_needs_no_other(run: Run, tmp_path: Path) -> None:
    file = kept(Plate(10.0).stay(1), tmp_path / "jug.csv", None)
    found = run("scale", "replay", str(file))
    assert (found.status, found.err) == (
        2,
        "crumbcall: The jug scale is not calibrated; do it with crumbcall scale calibrate.\n",
    )
