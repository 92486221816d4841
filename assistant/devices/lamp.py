"""The lamp and the buzzer: what they show is a pattern in time, distinct without colour.

Law: a lit lamp hears you. A dark one does not, whatever the reason: no power, no microphone, not asked to
listen. Nothing flashes more than three times a second (WCAG 2.2, success criterion 2.3.1).
"""

import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum
from queue import Empty, Queue
from typing import Protocol, TypeVar

from assistant.errors import DeviceError, one_line

Part = TypeVar("Part")


class Signal(Enum):
    """What the station is doing, in the order in which it matters."""

    RINGING = "a timer rings"
    QUESTION = "a question is open: yes or no"
    DEAF = "it does not hear you"
    HEARD = "it heard a command"
    LISTENING = "it listens"


@dataclass(frozen=True, slots=True)
class Pattern:
    """When an output is lit (or sounds) and when it is dark: stretches of (lit, seconds)."""

    name: str
    """As in the table of hardware/README.md."""
    once: tuple[tuple[bool, float], ...] = ()
    """Played first, one time."""
    over: tuple[tuple[bool, float], ...] = ()
    """Then repeated until something else is shown."""
    rests: bool = False
    """Whether it stays lit when nothing is repeated."""

    def steps(self) -> Iterator[tuple[bool, float | None]]:
        """Lit or dark and for how long (s); None: until something else is shown."""
        yield from self.once
        while self.over:
            yield from self.over
        yield self.rests, None


STEADY = Pattern("steady", rests=True)
DARK = Pattern("off")
WINK = Pattern("steady after one dark wink", once=((False, 0.3),), rests=True)
SLOW = Pattern("slow", over=((True, 1.0), (False, 1.0)))
FAST = Pattern("fast", over=((True, 0.2), (False, 0.2)))

PATTERNS: dict[Signal, Pattern] = {
    Signal.RINGING: FAST,
    Signal.QUESTION: SLOW,
    Signal.DEAF: DARK,
    Signal.HEARD: WINK,
    Signal.LISTENING: STEADY,
}
"""The lamp's pattern for each signal."""

BEEPS = Pattern("three short", once=((True, 0.15), (False, 0.15)) * 3)
LONG_BEEPS = Pattern("three long", once=((True, 0.5), (False, 0.3)) * 3)
"""The buzzer's patterns: when a timer calls, and when it has called for long or something is wrong."""


def signal(*, ringing: bool, asking: bool, hears: bool, heard: bool) -> Signal:
    """What to show: the most urgent of what holds at once."""
    if ringing:
        return Signal.RINGING
    if asking and hears:
        return Signal.QUESTION
    if not hears:
        return Signal.DEAF
    return Signal.HEARD if heard else Signal.LISTENING


class Output(Protocol):
    """A pin that is on or off, as gpiozero's own classes are."""

    def on(self) -> None:
        """Switch it on."""

    def off(self) -> None:
        """Switch it off."""

    def close(self) -> None:
        """Let the pin go."""


class Blinker:
    """A worker that plays patterns on an output; `show` may be called from any thread.

    `open_output`: opens it, and again after it failed, for the same pattern. `on_lost` gets the cause once,
    `on_found` is called once it is back. `alive` is called at every step: who does not call hangs.
    """

    LOOK_S = 0.5
    """How often it checks whether to end (s)."""
    RETRY_S = 5.0
    """How often to try to get back an output that is gone (s)."""
    MOST_SHOWN = 8
    """Patterns that wait for an output which hangs; the oldest are left out."""

    def __init__(
        self,
        open_output: Callable[[], Output],
        shown: "Queue[Pattern] | None" = None,
        *,
        on_lost: Callable[[str], None] = lambda _: None,
        on_found: Callable[[], None] = lambda: None,
        alive: Callable[[], None] = lambda: None,
    ) -> None:
        self._open = open_output
        self._shown: Queue[Pattern] = Queue() if shown is None else shown
        self._on_lost = on_lost
        self._on_found = on_found
        self._alive = alive
        self._now: Pattern = DARK

    def show(self, pattern: Pattern) -> None:
        """Play this pattern from its beginning, in place of the present one; returns at once."""
        while self._shown.qsize() >= self.MOST_SHOWN:
            with suppress(Empty):
                self._shown.get_nowait()
        self._shown.put(pattern)

    def run(self, stop: threading.Event) -> None:
        """Play until stopped; dark at the end. An output that fails is opened again."""
        lost = False
        while not stop.is_set():
            try:
                output = self._open()
                if lost:
                    self._on_found()
                lost = False
                self._on(output, stop)
            except Exception as error:  # drivers raise what they like
                if not lost:
                    self._on_lost(one_line(error))
                lost = True
                self._alive()
                stop.wait(self.RETRY_S)

    def _on(self, output: Output, stop: threading.Event) -> None:
        """Play on this output until stopped."""
        try:
            pattern: Pattern | None = self._now
            while pattern is not None:
                self._now = pattern
                pattern = self._play(output, pattern, stop)
        finally:
            with suppress(Exception):  # of an output that failed nothing more can be asked
                output.off()
            with suppress(Exception):
                output.close()

    def _play(self, output: Output, pattern: Pattern, stop: threading.Event) -> Pattern | None:
        """Play one until another is shown; None when stopped."""
        for lit, seconds in pattern.steps():
            self._alive()
            if lit:
                output.on()
            else:
                output.off()
            left = seconds
            while left is None or left > 0:
                if stop.is_set():
                    return None
                self._alive()
                wait = self.LOOK_S if left is None else min(left, self.LOOK_S)
                try:
                    return self._shown.get(timeout=wait)
                except Empty:
                    left = None if left is None else left - wait
        raise AssertionError("a pattern ends in rest")


def open_lamp(gpio: int) -> Output:
    """The lamp on this GPIO. Raises DeviceError."""

    def build() -> Output:
        from gpiozero import LED

        lamp: Output = LED(gpio)
        return lamp

    return opened("lamp", gpio, build)


def open_buzzer(gpio: int) -> Output:
    """The buzzer on this GPIO: one that sounds by itself under direct current. Raises DeviceError."""

    def build() -> Output:
        from gpiozero import Buzzer

        buzzer: Output = Buzzer(gpio)
        return buzzer

    return opened("buzzer", gpio, build)


def opened(part: str, gpio: int, build: Callable[[], Part]) -> Part:
    """Returns what `build` makes. Raises DeviceError, one line, where the pin is missing or can't be used."""
    import warnings

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # gpiozero warns about every driver that it tries
            return build()
    except Exception as error:  # drivers raise what they like
        reason = f"{type(error).__name__}: {' '.join(str(error).split())}"
        raise DeviceError(
            f"The {part} on GPIO {gpio} can't be used ({reason}); "
            f"on a Raspberry Pi run hardware/setup.sh again, elsewhere remove {part} from [pins]."
        ) from error
