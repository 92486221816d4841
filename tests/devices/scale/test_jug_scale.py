import threading

import pytest

from assistant.devices.scale.jug_scale import (
    Back,
    Gone,
    JugScale,
    Live,
    OtherRate,
    Overloaded,
    Pace,
    Replayed,
    Report,
)
from assistant.devices.scale.pouring import Drifted, Pour
from assistant.devices.scale.samples import Samples
from assistant.devices.scale.weight import Calibration
from assistant.errors import DeviceError
from assistant.ports import ScaleReader
from tests.devices.scale.plate import Plate, counts_of

CALIBRATION = Calibration(zero=84_000, counts_per_gram=420, mass_g=1800, noise_g=0.4)
FULL = 1800.0


def samples(plate: Plate) -> list[tuple[float, int]]:
    return [(float(at), counts_of(CALIBRATION, float(g))) for at, g in zip(*plate.grams(), strict=True)]


def poured() -> Plate:
    return Plate(10.0).stay(3).move(FULL, 0.3).stay(4).lift(3, FULL - 150).stay(4)


class Bench:
    def __init__(self) -> None:
        self.reports: list[Report] = []
        self.scale = JugScale(CALIBRATION, self.reports.append, lambda _: None)


def test_recorded_samples_are_played_at_their_times() -> None:
    bench, recorded = Bench(), samples(poured())
    replayed = Replayed(bench.scale, Samples(tuple(recorded)), start=100.0)
    assert replayed.next_at == 100.0 + recorded[0][0]
    replayed.upto(100.0 + 7.0)
    assert bench.reports == []
    found, grams = bench.scale.read()
    assert found == "steady"
    assert grams == pytest.approx(FULL, abs=1)
    replayed.upto(1000.0)
    assert [one.grams for one in bench.reports if isinstance(one, Pour)] == [pytest.approx(150, abs=1.5)]
    assert replayed.next_at is None


def test_the_plate_is_read_and_zeroed() -> None:
    bench = Bench()
    assert bench.scale.read()[0] == "unsteady"
    for at, counts in samples(Plate(10.0, zero_g=8.0).stay(3)):
        bench.scale.feed(counts, at)
    found, grams = bench.scale.read()
    assert found == "off"
    assert grams == pytest.approx(8.0, abs=0.3)
    assert bench.scale.zero() == "zeroed"
    assert bench.scale.read()[1] == pytest.approx(0.0, abs=0.3)
    for at, counts in samples(Plate(10.0).stay(1).move(FULL, 0.3).stay(4)):
        bench.scale.feed(counts, 10 + at)
    assert bench.scale.zero() == "loaded"


def test_an_overload_is_reported_once_and_left_out() -> None:
    bench = Bench()
    for at, counts in enumerate([84_000, 0x7FFFFF, 0x7FFFFF, 84_000, -0x800000]):
        bench.scale.feed(counts, at / 10)
    assert bench.reports == [Overloaded(), Overloaded()]


def test_a_zero_that_went_far_is_reported_once() -> None:
    bench = Bench()
    plate = Plate(10.0, zero_g=32.0).stay(2).move(FULL, 0.3).stay(5)
    for left in (1700.0, 1600.0):
        plate.lift(6, left).stay(5)
    for at, counts in samples(plate):
        bench.scale.feed(counts, at)
    assert [type(one) for one in bench.reports] == [Drifted, Pour, Pour]
    assert isinstance(bench.reports[0], Drifted)
    assert bench.reports[0].grams == pytest.approx(32, abs=2)


# --- the worker


class _Clock(threading.Event):
    """Waits take no time; they move the clock, and it ends at `until`."""

    def __init__(self, until: float) -> None:
        super().__init__()
        self.now, self.until = 0.0, until

    def wait(self, timeout: float | None = None) -> bool:
        self.now += timeout or 0.0
        if self.now >= self.until:
            self.set()
        return self.is_set()


class _Reader:
    """A chip whose samples come at their times; it fails at `fails_at`, or falls silent at `silent_at`."""

    def __init__(
        self,
        clock: _Clock,
        recorded: list[tuple[float, int]],
        *,
        fails_at: float = 1e9,
        silent_at: float = 1e9,
    ) -> None:
        self.clock, self.recorded = clock, recorded
        self.fails_at, self.silent_at = fails_at, silent_at
        self.closed = False

    def poll(self) -> int | None:
        if self.clock.now >= self.fails_at:
            raise DeviceError("The scale does not answer.")
        found = None
        while self.recorded and self.recorded[0][0] <= self.clock.now:
            found = self.recorded.pop(0)[1]
        return found if self.clock.now < self.silent_at else None

    def close(self) -> None:
        self.closed = True


def run(bench: Bench, clock: _Clock, *readers: _Reader | None, rate: float = 10) -> None:
    waiting = iter(readers)

    def open_reader() -> ScaleReader:
        reader = next(waiting)
        if reader is None:
            raise DeviceError("The scale does not answer.")
        return reader

    Live(bench.scale, open_reader, lambda: clock.now, rate=rate).run(clock)
    assert all(reader is None or reader.closed for reader in readers)


def test_a_pour_is_read_from_the_chip() -> None:
    bench, plate = Bench(), poured()
    clock = _Clock(plate.at)
    run(bench, clock, _Reader(clock, samples(plate)))
    assert [one.grams for one in bench.reports if isinstance(one, Pour)] == [pytest.approx(150, abs=1.5)]
    assert len(bench.reports) == 1


def test_a_scale_that_is_gone_is_reported_once_and_found_again() -> None:
    bench, plate = Bench(), Plate(10.0).stay(40)
    clock = _Clock(plate.at)
    recorded = samples(plate)
    run(bench, clock, _Reader(clock, recorded, fails_at=5), None, None, _Reader(clock, recorded))
    assert bench.reports == [Gone(), Back()]
    assert bench.scale.read()[0] == "off"


def test_a_board_that_is_wired_for_another_rate_is_told_once() -> None:
    bench, plate = Bench(), Plate(10.0).stay(20)
    clock = _Clock(plate.at)
    recorded = samples(plate)
    run(bench, clock, _Reader(clock, recorded, fails_at=8), _Reader(clock, recorded), rate=80)
    assert [one for one in bench.reports if isinstance(one, OtherRate)] == [OtherRate(found=10, set_to=80)]


@pytest.mark.parametrize(
    ("samples_a_second", "rate"), [(10, 10), (9, 10), (11.5, 10), (80, 80), (64, 80), (92, 80)]
)
def test_the_rate_is_measured_whatever_the_chips_own_clock_makes_of_it(
    samples_a_second: float, rate: int
) -> None:
    pace = Pace()
    found = [pace.sample(number / samples_a_second) for number in range(300)]
    assert set(found) - {None} == {rate}
    assert found[0] is None


def test_a_chip_that_falls_silent_is_gone() -> None:
    bench, plate = Bench(), Plate(10.0).stay(12)
    clock = _Clock(plate.at)
    run(bench, clock, _Reader(clock, samples(plate), silent_at=5), None, None, None)
    assert bench.reports == [Gone()]
    assert bench.scale.read() == ("gone", 0.0)
    assert bench.scale.zero() == "gone"


def test_a_pour_across_a_gap_is_not_made_up() -> None:
    """What happened while the scale was gone nobody knows."""
    bench = Bench()
    for at, counts in samples(Plate(10.0).stay(2).move(FULL, 0.3).stay(4)):
        bench.scale.feed(counts, at)
    bench.scale.gone(True)
    bench.scale.gone(False)
    for at, counts in samples(Plate(10.0).move(FULL - 300, 0.1).stay(5)):
        bench.scale.feed(counts, 20 + at)
    assert bench.reports == [Gone(), Back()]


def test_recorded_samples_are_played_live() -> None:
    bench, plate = Bench(), poured()
    clock = _Clock(plate.at + 1)
    Replayed(bench.scale, Samples(tuple(samples(plate))), 0.0).run(clock, lambda: clock.now)
    assert [one.grams for one in bench.reports if isinstance(one, Pour)] == [pytest.approx(150, abs=1.5)]
