"""One chip on the I2C bus, through the kernel's own file.

The kernel's interface is all that is needed (Documentation/i2c/dev-interface.rst: open, set the address,
write, read), so there is no library to install, and none that a new Python could lack.
"""

import fcntl
import os
from pathlib import Path
from typing import Protocol

from assistant.errors import DeviceError

BUS = Path("/dev/i2c-1")
"""The bus on the header of every Raspberry Pi with 40 pins."""

_I2C_SLAVE = 0x0703  # linux/i2c-dev.h


class I2c(Protocol):
    """One chip: what is written to it and read from it. OSError where it does not answer."""

    def write(self, data: bytes) -> None:
        """Write these bytes in one transfer."""

    def read(self, count: int) -> bytes:
        """Read `count` bytes in one transfer."""

    def close(self) -> None:
        """Let the bus go."""


class I2cFile:
    """The chip at `address` of the bus `file`. Raises DeviceError when made."""

    def __init__(self, address: int, file: Path = BUS) -> None:
        try:
            self._handle = os.open(file, os.O_RDWR)
        except OSError as error:
            raise DeviceError(
                f"The I2C bus {file} can't be opened ({error.strerror}); switch I2C on "
                "(raspi-config, Interface Options) and add this user to the group i2c."
            ) from error
        try:
            fcntl.ioctl(self._handle, _I2C_SLAVE, address)
        except OSError as error:
            os.close(self._handle)
            raise DeviceError(
                f"Address {address:#04x} of the I2C bus {file} can't be used ({error.strerror}); "
                "end the program that holds it."
            ) from error

    def write(self, data: bytes) -> None:
        """Write these bytes in one transfer."""
        os.write(self._handle, data)

    def read(self, count: int) -> bytes:
        """Read `count` bytes in one transfer."""
        return os.read(self._handle, count)

    def close(self) -> None:
        """Let the bus go."""
        os.close(self._handle)
