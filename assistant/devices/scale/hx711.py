"""The HX711 behind the jug's load cell, clocked by the SPI peripheral.

Datasheet: Avia Semiconductor HX711. DOUT low: a conversion is ready. Each pulse of PD_SCK shifts out one bit,
highest first, 24 bits of two's complement; one to three pulses more choose the next input and gain, and DOUT
goes high. PD_SCK high for over 60 us powers the chip down, which a program that toggles the pin itself does
whenever it is held up between two lines. So the peripheral makes the pulses: it sends 10 10 10 10 a byte,
MOSI is PD_SCK and MISO is DOUT. Every byte ends low: a program that is held up between two bytes loses
nothing. Each bit of DOUT is read twice.
"""

from typing import Any, Protocol

from assistant.devices.lamp import opened
from assistant.errors import DeviceError

GAIN_128_A = 0b1000_0000
"""One more pulse: the next conversion is of input A with gain 128."""
SETTLING = 4
"""Conversions that are left out after a start: datasheet, output settling time, 400 ms at 10 a second, 50 ms
at 80."""
_WORD = (0b1010_1010,) * 6
_IDLE = 0x00


class Spi(Protocol):
    """Sends bytes and returns what came back meanwhile, byte by byte."""

    def transfer(self, data: list[int]) -> list[int]:
        """Send these bytes; returns equally many."""

    def close(self) -> None:
        """Let the peripheral go."""


class SpiPort:
    """The first SPI peripheral, by gpiozero, at its 500 kHz: a pulse is 2 us high.

    Raises DeviceError when made.
    """

    def __init__(self) -> None:
        def build() -> Any:
            from gpiozero import SPIDevice

            return SPIDevice(port=0, device=0)

        self._device = opened("jug scale", 10, build)

    def transfer(self, data: list[int]) -> list[int]:
        """Send these bytes; returns equally many."""
        found: list[int] = self._device._spi.transfer(data)  # noqa: SLF001 - what every SPIDevice builds on
        return found

    def close(self) -> None:
        """Let the peripheral go."""
        self._device.close()


class Hx711:
    """ports.ScaleReader; input A with gain 128, which the chip has after a reset too."""

    def __init__(self, spi: Spi) -> None:
        self._spi = spi
        self._to_drop = SETTLING

    def poll(self) -> int | None:
        """The conversion that was finished since the last poll; a spoiled word is left out."""
        try:
            if self._spi.transfer([_IDLE]) != [0x00]:
                return None
            word = self._spi.transfer([*_WORD, GAIN_128_A])
        except OSError as error:
            raise DeviceError(
                f"The scale does not answer on SPI ({error.strerror}); switch SPI on "
                "(raspi-config, Interface Options) and check its wires."
            ) from error
        bits = "".join(f"{byte:08b}" for byte in word)
        first, second = bits[0:48:2], bits[1:48:2]
        if first != second or "0" in bits[49:]:  # after the last bit DOUT is high until the next conversion
            return None
        if self._to_drop:
            self._to_drop -= 1
            return None
        return int.from_bytes(int(first, 2).to_bytes(3, "big"), "big", signed=True)

    def close(self) -> None:
        """Let the peripheral go."""
        self._spi.close()
