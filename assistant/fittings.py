"""The parts that a kitchen may fit, put together as the settings name them: lamp and buzzer.

Law: none is needed. A part that can't be used is told in one line, and the station works without it.
"""

from collections.abc import Callable
from queue import Queue

from assistant.batch.state import State
from assistant.devices.lamp import (
    BEEPS,
    LONG_BEEPS,
    PATTERNS,
    Blinker,
    Output,
    open_buzzer,
    open_lamp,
    signal,
)
from assistant.devices.pins import ABSENT
from assistant.errors import DeviceError
from assistant.loop import Found, Lost, Message, Turn
from assistant.settings import Settings
from assistant.workers import Worker


class Fittings:
    """What is fitted. `follow` belongs to the thread of the loop."""

    def __init__(self, lamp: Blinker | None = None, buzzer: Blinker | None = None) -> None:
        self._lamp = lamp
        self._buzzer = buzzer
        self._microphone = True

    def workers(self, inbox: "Queue[Message]") -> list[Worker]:
        """A worker for every part that needs one."""
        parts = {"lamp": self._lamp, "buzzer": self._buzzer}
        return [Worker(name, part.run, inbox) for name, part in parts.items() if part is not None]

    def follow(self, turn: Turn, message: Message | None, state: State) -> None:
        """Show on lamp and buzzer what a turn led to."""
        if isinstance(message, Lost | Found) and message.what == "microphone":
            self._microphone = isinstance(message, Found)
        if self._lamp is not None:
            shown = signal(
                ringing=bool(state.ringing),
                asking=state.question is not None,
                hears=self._microphone and state.listening,
                heard=turn.command is not None,
            )
            self._lamp.show(PATTERNS[shown])
        if self._buzzer is not None:
            for reply in turn.replies:
                if reply.tone in ("ring", "ring_firm"):
                    self._buzzer.show(BEEPS if reply.tone == "ring" else LONG_BEEPS)


def open_fittings(settings: Settings, tell: Callable[[str], None]) -> Fittings:
    """The parts that the settings name; of one that can't be used `tell` hears, and it is left out."""
    pins = settings.pins

    def blinker(gpio: int, build: Callable[[int], Output]) -> Blinker | None:
        if gpio == ABSENT:
            return None
        try:
            return Blinker(build(gpio))
        except DeviceError as error:
            tell(str(error))
            return None

    return Fittings(blinker(pins.lamp, open_lamp), blinker(pins.buzzer, open_buzzer))
