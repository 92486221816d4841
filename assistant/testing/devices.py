"""Fakes of the scale's chips, bit by bit, for the real readers; the contract check of `ports.ScaleReader`.

They imitate the digital side by the datasheets. What they do not show: electrical timing, noise, supply.
"""

import errno
from collections import deque
from collections.abc import Callable
from typing import Any

from assistant.devices.scale import nau7802 as nau
from assistant.ports import ScaleReader


def check_scale_reader(reader: ScaleReader, convert: Callable[[int], None]) -> None:
    """Hold a reader to `ports.ScaleReader`; `convert` makes its chip finish a conversion of these counts."""
    assert reader.poll() is None, "poll() returned a conversion before there was one"
    for counts in (0, 1, -1, 0x7FFFFF, -0x800000, 0x555555, -0x555556, 123_456, -654_321):
        convert(counts)
        found = reader.poll()
        assert found == counts, f"poll() returned {found} for a conversion of {counts}"
        assert reader.poll() is None, "poll() returned a conversion twice"
    convert(1)
    convert(2)
    assert reader.poll() == 2, "of two conversions the last one counts"
    reader.close()


class FakeNau7802:
    """devices.scale.i2c.I2c with the register file of an NAU7802.

    `slow`: how many polls pass until it is up, and until its calibration ends. `cal_error`: its calibration
    fails.
    """

    def __init__(self, *, slow: int = 0, cal_error: bool = False, revision: int = 0x0F) -> None:
        self._slow = slow
        self._cal_error = cal_error
        self._revision = revision
        self.missing = False
        """Whether nothing answers."""
        self.failing = 0
        """How many transfers fail from now on."""
        self.closed = False
        self.power_off()

    def power_off(self) -> None:
        """The supply was lost and came back: all registers are as after a reset."""
        self.registers = bytearray(0x20)
        self.registers[nau.REVISION] = self._revision
        self._pointer = 0
        self._until_up = self._until_calibrated = 0

    def convert(self, counts: int) -> None:
        """A conversion is finished; a chip that does not run makes none."""
        running = nau.PUD | nau.PUA | nau.CS
        if self.registers[nau.PU_CTRL] & running == running:
            self.registers[nau.ADCO : nau.ADCO + 3] = counts.to_bytes(3, "big", signed=True)
            self.registers[nau.PU_CTRL] |= nau.CR

    def write(self, data: bytes) -> None:
        """A register's number, then values for it and the registers that follow."""
        self._answer()
        self._pointer = data[0]
        for value in data[1:]:
            self._set(self._pointer, value)
            self._pointer += 1

    def read(self, count: int) -> bytes:
        """Values from the register that was named last."""
        self._answer()
        found = bytes(self._get(self._pointer + step) for step in range(count))
        self._pointer += count
        return found

    def close(self) -> None:
        """Note it."""
        self.closed = True

    def _answer(self) -> None:
        if self.failing:
            self.failing -= 1
            raise OSError(errno.EIO, "Input/output error")
        if self.missing:
            raise OSError(errno.EREMOTEIO, "Remote I/O error")

    def _set(self, register: int, value: int) -> None:
        if register == nau.PU_CTRL:
            if value & nau.RR:
                self.power_off()
            ready = self.registers[register] & (nau.PUR | nau.CR)
            self.registers[register] = value & ~(nau.PUR | nau.CR) | (ready if value & nau.PUD else 0)
            self._until_up = self._slow
        else:
            self.registers[register] = value
            if register == nau.CTRL2 and value & nau.CALS:
                self._until_calibrated = self._slow

    def _get(self, register: int) -> int:
        if register == nau.PU_CTRL and self.registers[register] & nau.PUD:
            self._until_up -= 1
            if self._until_up < 0:
                self.registers[register] |= nau.PUR
        if register == nau.CTRL2 and self.registers[register] & nau.CALS:
            self._until_calibrated -= 1
            if self._until_calibrated < 0:
                self.registers[register] &= ~nau.CALS & 0xFF
                if self._cal_error:
                    self.registers[register] |= nau.CAL_ERR
        found = self.registers[register]
        if register == nau.ADCO + 2:
            self.registers[nau.PU_CTRL] &= ~nau.CR & 0xFF
        return found


class FakeHx711:
    """An HX711 between two pins: `clock` (PD_SCK) goes in, `data` (DOUT) comes out (datasheet, figure 2).

    PD_SCK high for over 60 us powers it down; the chip comes back, reset, when PD_SCK falls.
    """

    POWER_DOWN_S = 60e-6

    def __init__(self, data: Any) -> None:
        self._data = data
        self._clock = False
        self._word: deque[int] = deque()
        self._pulses = 0
        self._high_s = 0.0
        self.gain = (128, "A")
        """Gain and input of the next conversion."""
        self.resets = 0
        """How often it came back from being powered down."""
        self.dead = False
        """Whether it has no power."""
        self.spoil: set[int] = set()
        """Bits of the next word that come out wrong in the second half of their pulse."""
        self._show(True)

    def convert(self, counts: int) -> None:
        """A conversion is finished: DOUT falls.

        A word that nobody fetched is lost; without power none is made.
        """
        if self.dead or self._high_s > self.POWER_DOWN_S:
            return
        word = counts & 0xFFFFFF
        self._word = deque((word >> bit) & 1 for bit in reversed(range(24)))
        self._pulses = 0
        self._show(False)

    def held_up_s(self, seconds: float) -> None:
        """Time passes with PD_SCK as it is."""
        if self._clock:
            self._high_s += seconds

    def clock(self, high: bool) -> None:
        """PD_SCK is now high or low."""
        if high == self._clock:
            return
        self._clock = high
        if high:
            self._high_s = 0.0
            self._rise()
        elif self._high_s > self.POWER_DOWN_S:
            self._high_s = 0.0
            self.gain = (128, "A")
            self.resets += 1
            self._word.clear()
            self._show(True)
        elif self._pulses in self.spoil:
            self.spoil.discard(self._pulses)
            self._show(not self._data.state)

    def _rise(self) -> None:
        if self._word:
            self._pulses += 1
            self._show(bool(self._word.popleft()))
        elif 24 <= self._pulses < 27:
            self._pulses += 1
            self.gain = {25: (128, "A"), 26: (32, "B"), 27: (64, "A")}[self._pulses]
            self._show(True)

    def _show(self, high: bool) -> None:
        if high:
            self._data.drive_high()
        else:
            self._data.drive_low()
