"""Fakes of the scale's chips, bit by bit, for the real readers; the contract check of `ports.ScaleReader`.

They imitate the digital side by the datasheets. What they do not show: electrical timing, noise, supply.
"""

import errno
from collections import deque
from collections.abc import Callable
from typing import Any

from assistant.devices.scale import nau7802 as nau
from assistant.ports import ScaleReader

MOST_LEFT_OUT = 10
"""What a chip may need to settle."""


def check_scale_reader(reader: ScaleReader, convert: Callable[[int], None]) -> None:
    """Hold a reader to `ports.ScaleReader`; `convert` makes its chip finish a conversion of these counts.

    The first conversions after a start may be left out, `MOST_LEFT_OUT` of them.
    """
    assert reader.poll() is None, "poll() returned a conversion before there was one"
    for _ in range(MOST_LEFT_OUT):
        convert(0)
        reader.poll()
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
    fails. `regulator_s`: how long the supply of its cell takes from its start (s); a calibration that begins
    before leaves every conversion one part in a hundred off. `settling`: conversions after a start that are
    off too, less and less. `browns_out`: the cell draws so much that it is off again once its supply is on.
    `hangs`: its calibration does not end. Its time is what passes in `wait`.
    """

    def __init__(
        self,
        *,
        slow: int = 0,
        cal_error: bool = False,
        revision: int = 0x0F,
        regulator_s: float = 0.0,
        settling: int = 0,
        browns_out: bool = False,
        hangs: bool = False,
    ) -> None:
        self._slow = slow
        self._regulator_s = regulator_s
        self._settling = settling
        self._browns_out = browns_out
        self._hangs = hangs
        self.now = 0.0
        """What has passed in `wait` (s)."""
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
        self._supply_at: float | None = None
        self._skewed = False
        self._unsettled = 0

    def wait(self, seconds: float) -> None:
        """Time passes."""
        self.now += seconds

    def convert(self, counts: int) -> None:
        """A conversion is finished; a chip that does not run makes none."""
        running = nau.PUD | nau.PUA | nau.CS
        if self.registers[nau.PU_CTRL] & running == running:
            counts += round(counts * 0.01) if self._skewed else 0
            counts += self._unsettled * 1000
            self._unsettled = max(0, self._unsettled - 1)
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
            before = self.registers[register]
            if value & nau.PUA and self._supply_at is None:
                self._supply_at = self.now + self._regulator_s
            if value & ~before & nau.CS:
                self._unsettled = self._settling
            ready = before & (nau.PUR | nau.CR)
            if self._browns_out and value & nau.PUA:
                self._slow = 10**9
                ready = 0
            self.registers[register] = value & ~(nau.PUR | nau.CR) | (ready if value & nau.PUD else 0)
            self._until_up = self._slow
        else:
            self.registers[register] = value
            if register == nau.CTRL2 and value & nau.CALS:
                self._until_calibrated = self._slow
                self._skewed = self._supply_at is None or self.now < self._supply_at

    def _get(self, register: int) -> int:
        if register == nau.PU_CTRL and self.registers[register] & nau.PUD:
            self._until_up -= 1
            if self._until_up < 0:
                self.registers[register] |= nau.PUR
        if register == nau.CTRL2 and self.registers[register] & nau.CALS:
            self._until_calibrated -= 1
            if self._until_calibrated < 0 and not self._hangs:
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
