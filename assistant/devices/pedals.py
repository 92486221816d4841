"""The two kinds of foot switch: a contact on a pin, or a USB pedal."""

import errno
import fcntl
import os
import struct
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from assistant.devices.lamp import opened
from assistant.errors import DeviceError


class PinSwitch:
    """A switch between a GPIO and ground, with the chip's own pull-up. Raises DeviceError when made."""

    def __init__(self, gpio: int) -> None:
        def build() -> Any:
            from gpiozero import Button

            return Button(gpio, pull_up=True)

        self._button = opened("foot_switch", gpio, build)

    def down(self) -> bool:
        """Whether it is pressed now."""
        return bool(self._button.is_pressed)

    def close(self) -> None:
        """Let the pin go."""
        self._button.close()


# linux/input-event-codes.h and linux/input.h: a key's event, its values, and the request that keeps it from
# others.
_EVENT = struct.Struct("llHHi")  # seconds, microseconds, type, code, value
_EV_KEY = 1
_REPEATED = 2
_EVIOCGRAB = 0x40044590
_KEY_BYTES = 96  # KEY_MAX is 0x2ff, a bit a key
_EVIOCGKEY = 0x80004518 | _KEY_BYTES << 16


def keys_down(handle: int) -> bytes:
    """Which keys of an input device are down now: a bit a key. Raises OSError."""
    return fcntl.ioctl(handle, _EVIOCGKEY, bytes(_KEY_BYTES))


class UsbPedal:
    """A pedal that is a keyboard to the system: down while any of its keys is. Raises DeviceError.

    Read from the kernel's own file, whose format is stable (Documentation/input/input.rst), so no library has
    to be built for it. `grab` keeps its key strokes from the console. `keys_now` tells which keys are down
    when it is opened: a key that is held sends no event then.
    """

    def __init__(
        self, file: Path, *, grab: bool = True, keys_now: Callable[[int], bytes] = keys_down
    ) -> None:
        self._file = file
        self._held: set[int] = set()
        try:
            self._handle = os.open(file, os.O_RDONLY | os.O_NONBLOCK)
        except OSError as error:
            raise DeviceError(
                f"The pedal {file} can't be opened ({error.strerror}); "
                "plug it in, and let this user read it: add it to the group input."
            ) from error
        if grab:
            try:
                fcntl.ioctl(self._handle, _EVIOCGRAB, 1)
            except OSError as error:
                os.close(self._handle)
                raise DeviceError(
                    f"The pedal {file} is held by another program ({error.strerror}); end that one."
                ) from error
        with suppress(OSError):  # what can't tell has events alone
            self._held |= _set_bits(keys_now(self._handle))

    def down(self) -> bool:
        """Whether any of its keys is pressed now; DeviceError where it was pulled out."""
        while chunk := self._read():
            for _, _, kind, code, value in _EVENT.iter_unpack(chunk):
                if kind != _EV_KEY or value == _REPEATED:
                    continue
                if value:
                    self._held.add(code)
                else:
                    self._held.discard(code)
        return bool(self._held)

    def close(self) -> None:
        """Let it go."""
        os.close(self._handle)

    def _read(self) -> bytes:
        try:
            chunk = os.read(self._handle, _EVENT.size * 64)
        except BlockingIOError:
            return b""
        except OSError as error:
            gone = "it was pulled out" if error.errno == errno.ENODEV else error.strerror
            raise DeviceError(f"The pedal {self._file} is gone ({gone}); plug it in again.") from error
        return chunk[: len(chunk) - len(chunk) % _EVENT.size]


def _set_bits(field: bytes) -> set[int]:
    return {bit for bit in range(8 * len(field)) if field[bit // 8] >> bit % 8 & 1}


INPUT_DEVICES = Path("/proc/bus/input/devices")


def find_pedal(name: str, devices: Path = INPUT_DEVICES) -> Path:
    """File of the one key device whose name contains `name`, in any case. Raises DeviceError.

    `devices`: the kernel's list, a paragraph per device (`N: Name=`, `H: Handlers=`).
    """
    try:
        text = devices.read_text(encoding="utf-8", errors="replace")
    except OSError:
        text = ""
    found: dict[str, str] = {}
    for paragraph in text.split("\n\n"):
        lines = {line[0]: line[3:] for line in paragraph.splitlines() if line[1:3] == ": "}
        handlers = lines.get("H", "").removeprefix("Handlers=").split()
        event = next((one for one in handlers if one.startswith("event")), None)
        if event is not None and "kbd" in handlers:
            found[event] = lines.get("N", "").removeprefix("Name=").strip('"')
    fits = [event for event, shown in found.items() if name.casefold() in shown.casefold()]
    if len(fits) == 1:
        return Path("/dev/input") / fits[0]
    there = ", ".join(f'"{shown}"' for shown in found.values()) or "none"
    many = "is no pedal" if not fits else f"are {len(fits)} pedals"
    raise DeviceError(
        f'There {many} with "{name}" in the name; key devices here: {there}; '
        "set [foot_switch] device to a part of one name."
    )
