import os
from pathlib import Path
from typing import Any

import pytest
from gpiozero.pins.mock import MockFactory, MockPin
from hypothesis import given
from hypothesis import strategies as st

from assistant.devices.scale.hx711 import GAIN_128_A, SETTLING, Hx711, SpiPort
from assistant.devices.scale.i2c import I2cFile
from assistant.devices.scale.nau7802 import (
    ADC,
    CHOPPER_OFF,
    CTRL1,
    CTRL2,
    DROPPED,
    PU_CTRL,
    PUD,
    RATES,
    Nau7802,
)
from assistant.errors import DeviceError
from assistant.testing.devices import FakeHx711, FakeNau7802, check_scale_reader

COUNTS = st.integers(-0x800000, 0x7FFFFF)


def nau(fake: FakeNau7802, rate: int = 80) -> Nau7802:
    return Nau7802(fake, rate, fake.wait)


def settled(fake: FakeNau7802, rate: int = 80) -> Nau7802:
    """A reader whose chip has settled."""
    reader = nau(fake, rate)
    for _ in range(DROPPED):
        fake.convert(0)
        assert reader.poll() is None
    return reader


# --- NAU7802


def test_a_nau7802_keeps_the_contract() -> None:
    fake = FakeNau7802(slow=3)
    check_scale_reader(nau(fake), fake.convert)
    assert fake.closed
    assert not fake.registers[PU_CTRL] & PUD


@given(st.lists(COUNTS, max_size=20))
def test_a_nau7802_reads_every_word(words: list[int]) -> None:
    fake = FakeNau7802()
    reader, found = settled(fake), list[int | None]()
    for word in words:
        fake.convert(word)
        found.append(reader.poll())
    assert found == words


@pytest.mark.parametrize("rate", RATES)
def test_a_nau7802_is_set_up(rate: int) -> None:
    fake = FakeNau7802()
    nau(fake, rate)
    # datasheet: gain 128, cell at 3.0 V, rate 000 010 ... 011, chopper clock off
    assert fake.registers[CTRL1] == 0b00_101_111
    assert fake.registers[CTRL2] == {10: 0x00, 20: 0x10, 40: 0x20, 80: 0x30}[rate]
    assert fake.registers[ADC] & CHOPPER_OFF == CHOPPER_OFF


def test_a_conversion_that_is_late_is_only_late() -> None:
    fake = FakeNau7802()
    reader = settled(fake)
    assert [reader.poll() for _ in range(50)] == [None] * 50
    fake.convert(7)
    assert reader.poll() == 7


def test_a_spark_on_the_bus_is_tried_again() -> None:
    fake = FakeNau7802()
    reader = settled(fake)
    fake.convert(99)
    fake.failing = 2
    assert reader.poll() == 99


def test_a_chip_that_lost_its_power_is_set_up_again() -> None:
    fake = FakeNau7802()
    reader = nau(fake, 10)
    fake.power_off()
    fake.convert(5)
    assert reader.poll() is None
    for _ in range(DROPPED):
        fake.convert(5)
        assert reader.poll() is None
    fake.convert(6)
    assert reader.poll() == 6
    assert fake.registers[CTRL1] == 0b00_101_111


@pytest.mark.parametrize(
    ("fake", "said"),
    [
        (
            FakeNau7802(slow=1000),
            "The scale's chip does not come up; take its power away and give it back.",
        ),
        (
            FakeNau7802(browns_out=True),
            "The scale's chip loses its power under the cell; take its power away and give it back.",
        ),
        (
            FakeNau7802(cal_error=True),
            "The scale's chip can't calibrate itself; check the load cell's four wires.",
        ),
        (
            FakeNau7802(revision=0x03),
            "The chip at I2C address 0x2a is not an NAU7802; check which board is wired there.",
        ),
    ],
)
def test_a_chip_that_does_not_do_is_one_clear_line(fake: FakeNau7802, said: str) -> None:
    with pytest.raises(DeviceError) as caught:
        nau(fake)
    assert str(caught.value) == said


def test_a_nau7802_waits_for_the_cells_supply_and_drops_what_is_not_settled() -> None:
    fake = FakeNau7802(regulator_s=0.55, settling=10)
    reader, found = nau(fake), list[int]()
    for _ in range(15):
        fake.convert(500_000)
        if (counts := reader.poll()) is not None:
            found.append(counts)
    assert found == [500_000] * 5


def test_a_calibration_may_take_most_of_a_second_and_no_longer() -> None:
    fake = FakeNau7802(slow=150)  # looks, 5 ms apart
    with pytest.raises(DeviceError, match="does not come up"):
        nau(fake)
    fake = FakeNau7802(slow=90)
    begun = nau(fake)
    assert begun.poll() is None
    hung = FakeNau7802(hangs=True)
    with pytest.raises(DeviceError, match="does not end its calibration"):
        nau(hung)
    assert hung.now < 3.0


def test_a_missing_chip_is_one_clear_line() -> None:
    fake = FakeNau7802()
    fake.missing = True
    said = (
        "The scale does not answer on I2C address 0x2a (Remote I/O error); "
        "check its four wires: 3.3 V, ground, SDA, SCL."
    )
    with pytest.raises(DeviceError) as caught:
        nau(fake)
    assert str(caught.value) == said
    fake.missing = False
    reader = nau(fake)
    fake.missing = True
    with pytest.raises(DeviceError) as caught:
        reader.poll()
    assert str(caught.value) == said
    reader.close()


def test_a_machine_without_a_bus_is_reported(tmp_path: Path) -> None:
    with pytest.raises(DeviceError) as caught:
        I2cFile(0x2A, tmp_path / "i2c-1")
    assert str(caught.value) == (
        f"The I2C bus {tmp_path / 'i2c-1'} can't be opened (No such file or directory); switch I2C on "
        "(raspi-config, Interface Options) and add this user to the group i2c."
    )
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(DeviceError, match=r"^Address 0x2a of the I2C bus .* can't be used "):
        I2cFile(0x2A, pipe)


# --- HX711, on gpiozero's own bits


class _ClockPin(MockPin):  # type: ignore[misc] # gpiozero has no types
    """PD_SCK: every change goes to the chip."""

    chip: FakeHx711 | None = None

    def _change_state(self, value: Any) -> bool:
        changed: bool = super()._change_state(value)
        if changed and self.chip is not None:
            self.chip.clock(bool(self.state))
        return changed


class Bench:
    """An HX711 on the pins of the SPI peripheral."""

    def __init__(self, factory: MockFactory) -> None:
        clock = factory.pin(10, pin_class=_ClockPin)
        assert isinstance(clock, _ClockPin)
        self.port = SpiPort()
        self.chip = FakeHx711(factory.pin(9))
        clock.chip = self.chip
        self.reader = Hx711(self.port)

    def settle(self) -> None:
        """The first conversions after a start, which are left out."""
        for _ in range(SETTLING):
            self.chip.convert(0x7FFFFF)
            assert self.reader.poll() is None


@pytest.fixture
def bench(factory: MockFactory) -> Bench:
    return Bench(factory)


def test_an_hx711_keeps_the_contract(bench: Bench) -> None:
    check_scale_reader(bench.reader, bench.chip.convert)
    assert bench.chip.resets == 0


@pytest.mark.parametrize("seed", range(20))
def test_an_hx711_reads_every_word(bench: Bench, seed: int) -> None:
    bench.settle()
    word = (seed * 0x9E3779 + 0x1234) % 0x1000000 - 0x800000
    bench.chip.convert(word)
    assert bench.reader.poll() == word
    assert bench.chip.gain == (128, "A")


@pytest.mark.parametrize(
    ("pulses", "gain"), [(GAIN_128_A, (128, "A")), (0b1010_0000, (32, "B")), (0b1010_1000, (64, "A"))]
)
def test_the_pulses_after_a_word_choose_the_gain(bench: Bench, pulses: int, gain: tuple[int, str]) -> None:
    # datasheet, table 3: 25 pulses A 128, 26 pulses B 32, 27 pulses A 64
    bench.chip.gain = (0, "")
    bench.chip.convert(1)
    bench.port.transfer([0xAA] * 6 + [pulses])
    assert bench.chip.gain == gain


def test_a_program_that_is_held_up_between_bytes_loses_nothing(bench: Bench) -> None:
    bench.chip.convert(-4242)
    found = list[int]()
    for byte in [0xAA] * 6 + [0x80]:
        found += bench.port.transfer([byte])
        bench.chip.held_up_s(1.0)
    assert bench.chip.resets == 0

    class _Replay:
        def transfer(self, data: list[int]) -> list[int]:
            return [0] if len(data) == 1 else found

        def close(self) -> None:
            pass

    replayed = Hx711(_Replay())
    assert [replayed.poll() for _ in range(SETTLING + 1)] == [None] * SETTLING + [-4242]


def test_a_clock_that_stays_high_powers_the_chip_down(bench: Bench) -> None:
    # datasheet: PD_SCK high for longer than 60 us; back when it falls, as after a reset
    bench.chip.convert(5)
    bench.chip.clock(True)
    bench.chip.held_up_s(100e-6)
    bench.chip.clock(False)
    assert bench.chip.resets == 1
    assert bench.reader.poll() is None
    bench.settle()
    bench.chip.convert(6)
    assert bench.reader.poll() == 6


@pytest.mark.parametrize("bit", [1, 12, 24])
def test_a_spoiled_bit_is_found_and_the_word_left_out(bench: Bench, bit: int) -> None:
    bench.settle()
    bench.chip.convert(0x123456)
    bench.chip.spoil = {bit}
    assert bench.reader.poll() is None
    bench.chip.convert(0x123456)
    assert bench.reader.poll() == 0x123456


def test_a_chip_without_power_is_never_ready(bench: Bench) -> None:
    bench.chip.dead = True
    bench.chip.convert(5)
    assert bench.reader.poll() is None


def test_a_wire_that_is_off_is_no_word(bench: Bench) -> None:
    bench.chip._data.drive_low()  # DOUT to ground: always ready, all bits low, never high again
    assert bench.reader.poll() is None


def test_a_peripheral_that_fails_is_one_clear_line() -> None:
    class _Broken:
        def transfer(self, data: list[int]) -> list[int]:
            raise OSError(5, f"Input/output error after {len(data)} bytes")

        def close(self) -> None:
            pass

    with pytest.raises(DeviceError) as caught:
        Hx711(_Broken()).poll()
    assert str(caught.value) == (
        "The scale does not answer on SPI (Input/output error after 1 bytes); switch SPI on (raspi-config, "
        "Interface Options) and check its wires."
    )


def test_a_chip_that_does_not_answer_keeps_no_file_open() -> None:
    """It is tried every few seconds for as long as it is gone."""
    bus = FakeNau7802()
    bus.missing = True
    with pytest.raises(DeviceError):
        Nau7802(bus, 80, lambda _: None)
    assert bus.closed
