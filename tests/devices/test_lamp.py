import threading
from itertools import islice, pairwise, product
from queue import Empty, Queue

import pytest
from gpiozero.pins.mock import MockFactory

from assistant.devices.lamp import (
    BEEPS,
    DARK,
    FAST,
    LONG_BEEPS,
    PATTERNS,
    SLOW,
    STEADY,
    WINK,
    Blinker,
    Pattern,
    Signal,
    open_buzzer,
    open_lamp,
    signal,
)
from assistant.errors import DeviceError


@pytest.mark.parametrize(("ringing", "asking", "hears", "heard"), [*product((True, False), repeat=4)])
def test_the_most_urgent_is_shown(ringing: bool, asking: bool, hears: bool, heard: bool) -> None:
    shown = signal(ringing=ringing, asking=asking, hears=hears, heard=heard)
    if ringing:
        assert shown is Signal.RINGING
    elif not hears:
        assert shown is Signal.DEAF
    elif asking:
        assert shown is Signal.QUESTION
    else:
        assert shown is (Signal.HEARD if heard else Signal.LISTENING)


def test_every_signal_has_a_pattern_of_its_own() -> None:
    assert PATTERNS.keys() == set(Signal)
    assert len({(p.once, p.over, p.rests) for p in PATTERNS.values()}) == len(Signal)
    assert PATTERNS[Signal.DEAF] == DARK


@pytest.mark.parametrize("pattern", [*PATTERNS.values(), BEEPS, LONG_BEEPS])
def test_nothing_flashes_more_than_three_times_a_second(pattern: Pattern) -> None:
    # WCAG 2.2, success criterion 2.3.1: a flash is a pair of opposing changes; at most three in any second
    now, flashes, lit_before = 0.0, list[float](), False
    for lit, seconds in islice(pattern.steps(), 60):
        if lit and not lit_before:
            flashes.append(now)
        lit_before = lit
        now += seconds or 10.0
    assert all(fourth - first >= 1.0 for first, fourth in zip(flashes, flashes[3:], strict=False))
    assert all(later > earlier for earlier, later in pairwise(flashes))


class _Script(Queue[Pattern]):
    """A queue whose waits take no time: what was shown, one pattern after so many waits, then the end."""

    def __init__(self, stop: threading.Event, *shows: tuple[int, Pattern]) -> None:
        super().__init__()
        self.stop = stop
        self.shows = list(shows)
        self.waits: list[float] = []

    def get(self, block: bool = True, timeout: float | None = None) -> Pattern:
        assert block
        assert timeout is not None
        self.waits.append(timeout)
        if self.shows and len(self.waits) >= self.shows[0][0]:
            return self.shows.pop(0)[1]
        if not self.shows:
            self.stop.set()
        raise Empty


class _Recorder:
    def __init__(self) -> None:
        self.done: list[str] = []

    def on(self) -> None:
        self.done.append("on")

    def off(self) -> None:
        self.done.append("off")

    def close(self) -> None:
        self.done.append("close")


def test_a_pattern_is_played_until_another_is_shown() -> None:
    stop, output = threading.Event(), _Recorder()
    script = _Script(stop, (1, FAST), (4, WINK), (6, STEADY))
    Blinker(lambda: output, script).run(stop)
    assert output.done == ["off", "on", "off", "on", "off", "on", "on", "off", "close"]
    assert script.waits == [0.5, 0.2, 0.2, 0.2, 0.3, 0.5, 0.5]


def test_a_slow_pattern_is_waited_out_in_looks() -> None:
    stop, output = threading.Event(), _Recorder()
    script = _Script(stop, (1, SLOW), (6, DARK))
    Blinker(lambda: output, script).run(stop)
    assert output.done == ["off", "on", "off", "on", "off", "off", "close"]
    assert script.waits == [0.5] * 7


def test_the_lamp_is_a_pin_of_gpiozero(factory: MockFactory) -> None:
    lamp = open_lamp(17)
    pin = factory.pin(17)
    lamp.on()
    assert pin.state == 1
    lamp.off()
    assert pin.state == 0
    lamp.close()
    assert pin.function == "input"


def test_the_buzzer_is_a_pin_of_gpiozero(factory: MockFactory) -> None:
    buzzer = open_buzzer(27)
    buzzer.on()
    assert factory.pin(27).state == 1
    buzzer.close()


@pytest.mark.usefixtures("factory")
def test_a_pin_that_is_taken_is_one_clear_line() -> None:
    lamp = open_lamp(17)
    with pytest.raises(DeviceError) as caught:
        open_buzzer(17)
    lamp.close()
    assert str(caught.value).startswith("The buzzer on GPIO 17 can't be used (GPIOPinInUse: ")
    assert str(caught.value).endswith(
        "; on a Raspberry Pi run hardware/setup.sh again, elsewhere remove buzzer from [pins]."
    )
    assert "\n" not in str(caught.value)
