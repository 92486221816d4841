import os
import struct
from pathlib import Path

import pytest
from gpiozero.pins.mock import MockFactory

from assistant.devices.foot_switch import FootSwitch
from assistant.devices.pedals import PinSwitch, UsbPedal, find_pedal
from assistant.errors import DeviceError


def test_a_contact_to_ground_is_down(factory: MockFactory) -> None:
    switch = PinSwitch(22)
    pin = factory.pin(22)
    assert pin.pull == "up"
    assert not switch.down()
    pin.drive_low()
    assert switch.down()
    pin.drive_high()
    assert not switch.down()
    switch.close()


def event(kind: int, code: int, value: int) -> bytes:
    """struct input_event of linux/input.h on a 64-bit machine: 24 bytes."""
    raw = struct.pack("@llHHi", 1, 2, kind, code, value)
    assert len(raw) == 24
    return raw


SYN, KEY, MISC = 0, 1, 4  # linux/input-event-codes.h: EV_SYN, EV_KEY, EV_MSC


@pytest.fixture
def pedal(tmp_path: Path) -> Path:
    file = tmp_path / "event0"
    os.mkfifo(file)
    return file


def test_a_pedal_is_down_while_any_of_its_keys_is(pedal: Path) -> None:
    keeper = os.open(pedal, os.O_RDWR)
    switch = UsbPedal(pedal, grab=False)
    looks = []
    for chunk in (
        b"",
        event(MISC, 4, 458756) + event(KEY, 30, 1) + event(SYN, 0, 0),
        event(KEY, 30, 2) * 5,
        event(KEY, 48, 1),
        event(KEY, 30, 0) + event(SYN, 0, 0),
        event(KEY, 48, 0),
        event(KEY, 48, 0),
    ):
        os.write(keeper, chunk)
        looks.append(switch.down())
    assert looks == [False, True, True, True, True, False, False]
    switch.close()
    os.close(keeper)


def test_a_pedal_that_is_held_when_it_is_opened_is_down_until_it_comes_up(pedal: Path) -> None:
    keeper = os.open(pedal, os.O_RDWR)
    held = bytes([0] * 3 + [1 << 6] + [0] * 92)  # KEY_A is 30: bit 6 of byte 3 (EVIOCGKEY)
    switch = UsbPedal(pedal, grab=False, keys_now=lambda _: held)
    assert switch.down()
    assert FootSwitch(switch.down(), 0.0, listen_s=8).stuck
    os.write(keeper, event(KEY, 30, 0))
    assert not switch.down()
    switch.close()
    os.close(keeper)


def test_a_pedal_that_is_not_there_is_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(DeviceError) as caught:
        UsbPedal(tmp_path / "event9")
    assert str(caught.value) == (
        f"The pedal {tmp_path / 'event9'} can't be opened (No such file or directory); plug it in, "
        "and let this user read it: add it to the group input."
    )


def test_what_is_no_pedal_can_not_be_kept_from_others(pedal: Path) -> None:
    with pytest.raises(DeviceError) as caught:
        UsbPedal(pedal)
    assert str(caught.value).startswith(f"The pedal {pedal} is held by another program (")


def test_a_pedal_that_is_pulled_out_is_reported(pedal: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    switch = UsbPedal(pedal, grab=False)

    def gone(_handle: int, _count: int) -> bytes:
        raise OSError(19, "No such device")

    monkeypatch.setattr(os, "read", gone)
    with pytest.raises(DeviceError) as caught:
        switch.down()
    monkeypatch.undo()
    switch.close()
    assert str(caught.value) == f"The pedal {pedal} is gone (it was pulled out); plug it in again."


# As the kernel writes /proc/bus/input/devices (Documentation/input/input.rst, "/proc/bus/input/devices").
DEVICES = """I: Bus=0003 Vendor=0000 Product=0000 Version=0110
N: Name="Three pedals"
P: Phys=usb-1/input0
S: Sysfs=/devices/usb1/input3
U: Uniq=
H: Handlers=sysrq kbd event3 leds
B: EV=120013

I: Bus=0003 Vendor=0000 Product=0000 Version=0110
N: Name="One pedal"
H: Handlers=kbd event4
B: EV=120013

I: Bus=0019 Vendor=0000 Product=0000 Version=0000
N: Name="A speaker's jack"
H: Handlers=event5
"""


def test_a_pedal_is_found_by_a_part_of_its_name(tmp_path: Path) -> None:
    file = tmp_path / "devices"
    file.write_text(DEVICES)
    assert find_pedal("three", file) == Path("/dev/input/event3")
    assert find_pedal("One pedal", file) == Path("/dev/input/event4")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("pedal", 'There are 2 pedals with "pedal" in the name'),
        ("jack", 'There is no pedal with "jack" in the name'),
    ],
)
def test_no_pedal_or_several_are_one_clear_line(tmp_path: Path, name: str, said: str) -> None:
    file = tmp_path / "devices"
    file.write_text(DEVICES)
    with pytest.raises(DeviceError) as caught:
        find_pedal(name, file)
    assert str(caught.value) == (
        f'{said}; key devices here: "Three pedals", "One pedal"; '
        "set [foot_switch] device to a part of one name."
    )


def test_a_machine_without_input_devices_is_reported(tmp_path: Path) -> None:
    with pytest.raises(DeviceError, match="key devices here: none; set "):
        find_pedal("pedal", tmp_path / "missing")
