from pathlib import Path

import pytest
from gpiozero.pins.pi import PiBoardInfo

from assistant.config.settings import Settings
from assistant.devices.pins import (
    FREE,
    GROUND,
    POSITION,
    RESERVED,
    SUPPLY_3V3,
    SUPPLY_5V,
    WIRED,
    PinMap,
    problem,
)
from assistant.errors import SettingsError


# revision codes of a Pi 4 B and a Pi 5: Raspberry Pi documentation, "Raspberry Pi revision codes"
@pytest.mark.parametrize("revision", [0xC03111, 0xC04170])
def test_the_header_is_gpiozeros(revision: int) -> None:
    header = PiBoardInfo.from_revision(revision).headers["J8"].pins
    assert {f"GPIO{gpio}": position for gpio, position in POSITION.items()} == {
        pin.name: position for position, pin in header.items() if pin.name.startswith("GPIO")
    }
    for positions, name in ((SUPPLY_3V3, "3V3"), (SUPPLY_5V, "5V"), (GROUND, "GND")):
        assert positions == tuple(position for position, pin in sorted(header.items()) if pin.name == name)


def test_every_pin_is_free_or_has_another_use() -> None:
    assert {*FREE, *RESERVED} == {*POSITION} == set(range(28))
    assert not {*FREE} & {*RESERVED}


def test_the_drawn_map_can_be_used() -> None:
    assert problem(WIRED) is None
    assert problem(PinMap()) is None
    assert WIRED.parts == {"lamp": 17, "buzzer": 27, "foot_switch": 22}
    assert PinMap().parts == {}


_FREE = "4, 5, 6, 12, 13, 16, 17, 22, 23, 24, 25, 26, 27"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("lamp = 2", f"lamp = 2 is kept for the jug scale (I2C); take one of {_FREE}, or 0 for none."),
        ("buzzer = 14", f"buzzer = 14 is kept for the serial console; take one of {_FREE}, or 0 for none."),
        (
            "lamp = 17\nfoot_switch = 17",
            f"lamp and foot_switch both have 17; take another of {_FREE} for one of them.",
        ),
        (
            "lamp = 28",
            "lamp = 28, allowed is a whole number from 0 to 27 (GPIO); "
            "change it, or remove the line to get 0.",
        ),
    ],
)
def test_a_map_that_cant_be_is_one_clear_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(f"[pins]\n{text}", encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        Settings.load(file)
    assert str(caught.value) == f"{file}: [pins] {said}"


def test_a_pin_off_the_header_is_reported() -> None:
    assert (
        problem(PinMap(lamp=40))
        == f"lamp = 40 is not a pin of the header; take one of {_FREE}, or 0 for none."
    )


def test_all_parts_are_absent_by_default() -> None:
    assert Settings().pins.map == PinMap()
