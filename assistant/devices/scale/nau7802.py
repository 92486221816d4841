"""The NAU7802 behind the jug's load cell, on I2C. It clocks itself: a late read is only late.

Datasheet: Nuvoton NAU7802, 24-bit dual-channel ADC for bridge sensors. Registers that are used:

    0x00 PU_CTRL  RR reset | PUD, PUA digital and analogue on | PUR is up | CS convert | CR is ready |
                  AVDDS own supply
    0x01 CTRL1    bits 5..3 supply of the cell, bits 2..0 gain
    0x02 CTRL2    bits 6..4 rate | CALS calibrate | CAL_ERR
    0x12..0x14    the conversion, two's complement, highest byte first
    0x15 ADC      bits 5..4 chopper clock, off by the datasheet's advice
    0x1C POWER    bit 7 capacitor across the second input, for one channel
    0x1F          bits 3..0 revision, always 15
"""

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TypeVar

from assistant.devices.scale.i2c import I2c
from assistant.errors import DeviceError

Found = TypeVar("Found")

ADDRESS = 0x2A

PU_CTRL, CTRL1, CTRL2, ADCO, ADC, POWER, REVISION = 0x00, 0x01, 0x02, 0x12, 0x15, 0x1C, 0x1F
RR, PUD, PUA, PUR, CS, CR, AVDDS = (1 << bit for bit in (0, 1, 2, 3, 4, 5, 7))
CALS, CAL_ERR = 1 << 2, 1 << 3
GAIN_128, SUPPLY_3V0 = 0b111, 0b101 << 3
CHOPPER_OFF, CAPACITOR = 0b11 << 4, 1 << 7
RATES = {10: 0b000 << 4, 20: 0b001 << 4, 40: 0b010 << 4, 80: 0b011 << 4}
"""Bits for a rate (conversions a second)."""

TRIES = 3
"""How often a transfer is tried: a spark of the mixer's motor spoils one."""
UP_S = 0.5
"""A chip that is not up after this time (s) is not going to be."""
REGULATOR_S = 0.6
"""The supply of the cell has settled after this time (s): 0.3 to 0.6 s are seen with common boards (common
practice, no source). What is calibrated or read before is off by up to one part in a hundred."""
CALIBRATION_S = 1.0
"""A calibration that takes longer (s) does not end: at ten conversions a second it takes some 0.35 s."""
DROPPED = 10
"""Conversions that are left out after a start, while filter and cell settle (common practice, no source)."""
_LOOK_S = 0.005


def _wait(seconds: float) -> None:
    threading.Event().wait(seconds)


class Nau7802:
    """ports.ScaleReader; `rate` conversions a second. Raises DeviceError when made."""

    def __init__(self, bus: I2c, rate: int = 80, wait: Callable[[float], None] = _wait) -> None:
        self._bus = bus
        self._rate = RATES[rate]
        self._wait = wait
        self._to_drop = DROPPED
        try:
            self._begin()
        except BaseException:
            bus.close()  # who tries every few seconds would run out of files
            raise

    def poll(self) -> int | None:
        """The conversion finished since the last poll; a chip that lost its power is set up again."""
        control = self._get(PU_CTRL)
        if not control & PUD:
            self._begin()
            return None
        if not control & CR:
            return None
        self._try(lambda: self._bus.write(bytes([ADCO])))
        word = self._try(lambda: self._bus.read(3))
        if self._to_drop:
            self._to_drop -= 1
            return None
        return int.from_bytes(word, "big", signed=True)

    def close(self) -> None:
        """Power the chip down and let the bus go."""
        with suppress(OSError):
            self._bus.write(bytes([PU_CTRL, 0]))
        self._bus.close()

    def _begin(self) -> None:
        self._set(PU_CTRL, RR)
        self._set(PU_CTRL, PUD)
        self._until(PU_CTRL, mask=PUR, wanted=PUR, limit_s=UP_S, otherwise="does not come up")
        if self._get(REVISION) & 0x0F != 0x0F:
            raise DeviceError(
                f"The chip at I2C address {ADDRESS:#04x} is not an NAU7802; check which board is wired there."
            )
        self._set(PU_CTRL, PUD | PUA | AVDDS)
        self._set(CTRL1, SUPPLY_3V0 | GAIN_128)
        self._wait(REGULATOR_S)
        self._until(PU_CTRL, mask=PUR, wanted=PUR, limit_s=UP_S, otherwise="loses its power under the cell")
        self._set(CTRL2, self._rate)
        self._set(ADC, self._get(ADC) | CHOPPER_OFF)
        self._set(POWER, self._get(POWER) | CAPACITOR)
        self._set(CTRL2, self._rate | CALS)
        calibrated = self._until(
            CTRL2, mask=CALS, wanted=0, limit_s=CALIBRATION_S, otherwise="does not end its calibration"
        )
        if calibrated & CAL_ERR:
            raise DeviceError("The scale's chip can't calibrate itself; check the load cell's four wires.")
        self._set(PU_CTRL, PUD | PUA | AVDDS | CS)
        self._to_drop = DROPPED

    def _until(self, register: int, *, mask: int, wanted: int, limit_s: float, otherwise: str) -> int:
        """Wait until the masked bits of a register are as wanted; returns the register."""
        for _ in range(round(limit_s / _LOOK_S)):
            found = self._get(register)
            if found & mask == wanted:
                return found
            self._wait(_LOOK_S)
        raise DeviceError(f"The scale's chip {otherwise}; take its power away and give it back.")

    def _set(self, register: int, value: int) -> None:
        self._try(lambda: self._bus.write(bytes([register, value])))

    def _get(self, register: int) -> int:
        def get() -> int:
            self._bus.write(bytes([register]))
            return self._bus.read(1)[0]

        return self._try(get)

    def _try(self, transfer: Callable[[], Found]) -> Found:
        failed: OSError | None = None
        for _ in range(TRIES):
            try:
                return transfer()
            except OSError as error:
                failed = error
        reason = failed.strerror if failed else "no reason given"
        raise DeviceError(
            f"The scale does not answer on I2C address {ADDRESS:#04x} ({reason}); "
            "check its four wires: 3.3 V, ground, SDA, SCL."
        ) from failed
