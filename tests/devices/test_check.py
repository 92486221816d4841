import json
from pathlib import Path

import pytest
from gpiozero.pins.mock import MockFactory

from assistant.app.application import open_application
from assistant.cli.check import parts
from assistant.cli.check.finding import Finding
from assistant.cli.check.parts import parts_of
from assistant.config.home import Home
from assistant.devices.scale.weight import save_calibration
from assistant.errors import DeviceError
from assistant.ports import ScaleReader
from tests.cli.conftest import Run
from tests.devices.scale.test_cli_scale import Chip
from tests.devices.scale.test_weighing import CALIBRATION


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parts, "LOOK_S", 0.02)


def found(home: Path, text: str, chip: Chip | None = None) -> dict[str, Finding]:
    (home / "settings.toml").write_text(text)

    def open_scale(name: str, rate: int) -> ScaleReader:
        if chip is None:
            raise DeviceError("The scale does not answer.")
        return chip.open(name, rate)

    return {one.part: one for one in parts_of(open_application(Home.find(home)), open_scale)}


def test_what_is_not_named_is_absent(tmp_path: Path) -> None:
    parts = found(tmp_path, "")
    assert [*parts] == [
        *("lamp", "buzzer", "foot switch", "jug scale"),
        *("label printer", "sheet printer"),
    ]
    for part in parts.values():
        do = "Nothing, unless you fit one: hardware/README.md."
        assert part == Finding(
            part=part.part, works=False, needed=False, found="not named in the settings", do=do
        )


def test_what_is_named_is_looked_at(tmp_path: Path, factory: MockFactory) -> None:
    text = "[pins]\nlamp = 17\nbuzzer = 27\nfoot_switch = 22\n"
    parts = found(tmp_path, text)
    assert [part.works for part in parts.values()] == [True, True, True, False, False, False]
    assert parts["foot switch"].found == "opens, and is up"
    assert factory.pin(17).state == 0


class _Down:
    def down(self) -> bool:
        return True

    def close(self) -> None:
        pass


def test_a_switch_that_is_down_is_reported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parts, "open_switch", lambda _: _Down())
    stuck = found(tmp_path, "[pins]\nfoot_switch = 22\n")["foot switch"]
    assert not stuck.works
    assert stuck.found == "It is down: something is on it, its contact is wet, or its wires touch."


def test_the_scale_is_measured(tmp_path: Path) -> None:
    text = '[scale]\nchip = "nau7802"\n'
    gone = found(tmp_path, text)["jug scale"]
    assert (gone.works, gone.found) == (False, "The scale does not answer.")
    raw = found(tmp_path, text, Chip(640.0))["jug scale"]
    assert raw.found.endswith("; not calibrated: crumbcall scale calibrate.")
    save_calibration(tmp_path / "scale.json", CALIBRATION)
    good = found(tmp_path, text, Chip(640.0))["jug scale"]
    assert good.works
    assert good.found.endswith(", 640 g, noise 0.00 g, 0.40 g when it was calibrated")
    over = found(tmp_path, text, Chip(CALIBRATION.grams(0x7FFFFF)))["jug scale"]
    assert over.found == "It is at the end of its range: overloaded, or a wire of the cell is off."


def test_a_board_that_is_wired_for_another_rate_is_named() -> None:
    slow = [(number / 10, 5) for number in range(12)]
    told = " (the settings say 80: write rate = 10 under [scale], or wire its pin RATE)"
    assert parts.rate_note(slow, 80) == told
    assert parts.rate_note(slow, 10) == ""
    assert parts.rate_note(slow[:3], 80) == ""  # too few to know


def test_check_lists_every_part(run: Run) -> None:
    parts = {one["part"]: one for one in json.loads(run("check", "--json").out)["parts"]}
    assert {"disk", "speaker to microphone", "lamp", "buzzer", "foot switch", "jug scale", "wall clock"} <= {
        *parts
    }
    assert parts["disk"]["works"]
    assert parts["disk"]["found"].startswith("a write is safe after ")


def test_a_printer_that_is_named_is_looked_at(tmp_path: Path) -> None:
    text = f'[printer]\nkind = "file"\naddress = "{tmp_path}/lp0"\n'
    assert found(tmp_path, text)["label printer"].works
    gone = found(tmp_path, text.replace("lp0", "none/lp0"))["label printer"]
    assert not gone.works
    assert not gone.needed
    assert "does not print" in gone.found
