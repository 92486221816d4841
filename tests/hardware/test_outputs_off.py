from pathlib import Path

import pytest
from gpiozero import LED
from gpiozero.pins.mock import MockFactory

from assistant.app.setting_up.outputs_off import main, switch_outputs_off
from assistant.config.settings import Settings
from assistant.config.station_settings import PinSettings
from tests.devices.conftest import factory

__all__ = ["factory"]


def test_after_a_kill_lamp_and_buzzer_go_off(tmp_path: Path, factory: MockFactory) -> None:
    (tmp_path / "settings.toml").write_text("[pins]\nlamp = 17\nbuzzer = 27\n")
    for gpio in (17, 27):  # as a killed program leaves them
        factory.pin(gpio).function = "output"
        factory.pin(gpio).state = 1
    assert main([str(tmp_path)]) == 0
    assert [factory.pin(gpio).state for gpio in (17, 27)] == [0, 0]


def test_a_pin_that_can_not_be_opened_does_not_keep_the_other_lit(factory: MockFactory) -> None:
    held_by_another = LED(17)
    factory.pin(27).function = "output"
    factory.pin(27).state = 1
    told: list[str] = []
    switch_outputs_off(Settings(pins=PinSettings(lamp=17, buzzer=27)), told.append)
    assert factory.pin(27).state == 0
    assert [line.startswith("The lamp on GPIO 17 can't be used (") for line in told] == [True]
    held_by_another.close()


def test_what_is_not_fitted_is_not_touched(factory: MockFactory) -> None:
    switch_outputs_off(Settings(), pytest.fail)
    assert factory.pins == {}


def test_settings_that_can_not_be_read_are_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "settings.toml").write_text("[pins\n")
    assert main([str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
