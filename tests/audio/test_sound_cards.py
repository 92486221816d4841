"""Which device is meant."""

import importlib
from pathlib import Path

import pytest

from assistant.audio.sound_cards import (
    Device,
    card,
    choose,
    find,
    list_devices,
    portaudio,
    read_cards,
)
from assistant.errors import SoundError
from assistant.testing.sound_card import FakeSoundCard

HEADSET = Device(0, "Wired Headset: USB Audio (hw:1,0)", 1, 2, 48_000)
CONFERENCE = Device(1, "Table Puck: USB Audio (hw:2,0)", 1, 2, 16_000)
LOUDSPEAKER = Device(2, "bcm2835 Headphones (hw:0,0)", 0, 8, 44_100)
ALL = [HEADSET, CONFERENCE, LOUDSPEAKER]


def test_a_part_of_the_name_in_any_case_is_enough() -> None:
    assert choose(ALL, "puck", "input") is CONFERENCE
    assert choose(ALL, "BCM2835", "output") is LOUDSPEAKER


def test_no_name_means_the_default() -> None:
    assert choose(ALL, "", "input", default=1) is CONFERENCE


def test_a_name_to_the_letter_wins_over_longer_ones() -> None:
    short, long = Device(0, "cook", 1, 1, 48_000), Device(1, "cook two", 1, 1, 48_000)
    assert choose([long, short], "cook", "output") is short


@pytest.mark.parametrize(
    ("devices", "part", "line"),
    [
        (
            ALL,
            "usb",
            "'usb' fits several: 'Wired Headset: USB Audio (hw:1,0)', 'Table Puck: USB Audio (hw:2,0)'; "
            "name more of the microphone you mean",
        ),
        (
            ALL,
            "bcm",
            "no microphone has 'bcm' in its name; there are: 'Wired Headset: USB Audio (hw:1,0)', "
            "'Table Puck: USB Audio (hw:2,0)'",
        ),
        ([LOUDSPEAKER], "bcm", "there is no microphone on this machine; plug one in, or go on without sound"),
        ([HEADSET], "", "no microphone is the default; name one of: 'Wired Headset: USB Audio (hw:1,0)'"),
    ],
)
def test_none_or_several_is_one_line_that_lists_them(devices: list[Device], part: str, line: str) -> None:
    with pytest.raises(SoundError) as refusal:
        choose(devices, part, "input", default=-1)
    assert str(refusal.value) == line


def test_the_librarys_list_becomes_devices() -> None:
    library = FakeSoundCard([("desk", 2, 0, 44_100), ("wall", 0, 2, 48_000)], defaults=(0, 1))
    assert list_devices(library) == [Device(0, "desk", 2, 0, 44_100), Device(1, "wall", 0, 2, 48_000)]
    assert find("", "input", library).name == "desk"
    assert find("", "output", library).name == "wall"


def test_a_missing_library_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_name: str) -> None:
        raise OSError("PortAudio library not found")

    monkeypatch.setattr(importlib, "import_module", fail)
    with pytest.raises(SoundError) as refusal:
        portaudio()
    assert str(refusal.value) == (
        "the sound library can't be loaded (PortAudio library not found); install it with `apt install "
        "libportaudio2`"
    )


# /proc/asound/cards as Linux writes it (sound/core/init.c): number, id in brackets, driver, name and more.
CARDS = """ 0 [Headphones     ]: bcm2835_headpho - bcm2835 Headphones
                      bcm2835 Headphones
 2 [Puck           ]: USB-Audio - Table Puck
                      Table Puck at usb-0000:01:00.0-1.2, full speed
"""


def test_a_card_is_known_by_its_line() -> None:
    assert card(CONFERENCE, CARDS) == " 2 [Puck           ]: USB-Audio - Table Puck"
    assert card(HEADSET, CARDS) is None
    assert card(Device(0, "pulse", 2, 2, 44_100), CARDS) is None


def test_no_list_of_cards_is_an_empty_one(tmp_path: Path) -> None:
    assert read_cards(tmp_path / "cards") == ""
