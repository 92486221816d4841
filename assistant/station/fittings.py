"""The parts that a kitchen may fit, put together as the settings name them: lamp, buzzer, foot switch.

Law: none is needed. A part that can't be used is told in one line, and the station works without it.
"""

from collections.abc import Callable, Iterator
from queue import Queue

import numpy as np

from assistant.batch.record.commands import GotIt, Listening, SayAgain
from assistant.batch.record.state import State
from assistant.config.settings import Settings
from assistant.devices.foot_switch import Press, Switch, SwitchWatch
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
from assistant.devices.pedals import PinSwitch, UsbPedal, find_pedal
from assistant.devices.pins import ABSENT
from assistant.errors import DeviceError
from assistant.ports import Microphone, Pcm
from assistant.station.messages import Found, Lost, Message, Noticed, Pressed
from assistant.station.station import Turn
from assistant.station.workers import Worker


class Fittings:
    """What is fitted. `follow` belongs to the thread of the loop; the rest may be called from any."""

    def __init__(
        self, inbox: "Queue[Message]", lamp: Blinker | None = None, buzzer: Blinker | None = None
    ) -> None:
        self._inbox = inbox
        self._lamp = lamp
        self._buzzer = buzzer
        self._switch: SwitchWatch | None = None
        self.asked: Callable[[], bool] = lambda: False
        self._microphone = True
        self._loud = False
        self._heard = False
        self._state = State()

    def with_switch(
        self, open_switch: Callable[[], Switch], now: Callable[[], float], listen_s: float
    ) -> "Fittings":
        """Fit a foot switch; gives itself."""
        self._switch = SwitchWatch(open_switch, self._act, self._show, now, listen_s=listen_s)
        return self

    def workers(self) -> list[Worker]:
        """A worker for every part that needs one."""
        parts = {"lamp": self._lamp, "buzzer": self._buzzer, "foot switch": self._switch}
        return [Worker(name, part.run, self._inbox) for name, part in parts.items() if part is not None]

    def hears(self) -> bool:
        """Whether what is said now is asked for: by the foot, by a question of ours, or by another that is `asked`."""
        return (
            self._switch is None or self._state.question is not None or self.asked() or self._switch.hears()
        )

    def follow(self, turn: Turn, message: Message | None, state: State) -> None:
        """Show on lamp and buzzer what a turn led to."""
        if isinstance(message, Lost | Found) and message.what == "microphone":
            self._microphone = isinstance(message, Found)
        if isinstance(message, Noticed) and message.key in ("too_loud", "hearing_again"):
            self._loud = message.key == "too_loud"
        self._state, self._heard = state, turn.command is not None
        self._show()
        if self._buzzer is not None:
            for reply in turn.replies:
                if reply.tone in ("ring", "ring_firm"):
                    self._buzzer.show(BEEPS if reply.tone == "ring" else LONG_BEEPS)

    def _show(self) -> None:
        if self._lamp is None:
            return
        shown = signal(
            ringing=bool(self._state.ringing),
            asking=self._state.question is not None,
            hears=self._microphone and not self._loud and self._state.listening and self.hears(),
            heard=self._heard,
        )
        self._heard = False
        self._lamp.show(PATTERNS[shown])

    def _act(self, press: Press) -> None:
        """What a press leads to."""
        match press:
            case Press.LISTEN:
                if not self._state.listening:
                    self._inbox.put(Pressed(Listening(on=True)))
            case Press.SILENCE:
                if self._state.ringing:
                    self._inbox.put(Pressed(GotIt()))
            case Press.AGAIN:
                self._inbox.put(Pressed(SayAgain()))
            case Press.STUCK | Press.LOST | Press.WORKS:
                self._inbox.put(Noticed(f"switch_{press.value}"))


class WhenAsked:
    """ports.Microphone that gives silence while nobody asked to be heard."""

    def __init__(self, microphone: Microphone, hears: Callable[[], bool]) -> None:
        self._microphone = microphone
        self._hears = hears

    @property
    def rate(self) -> int:
        """Hz of the blocks."""
        return self._microphone.rate

    def blocks(self) -> Iterator[Pcm]:
        """Blocks as they come; as long, but silent, while nobody asked."""
        for block in self._microphone.blocks():
            yield block if self._hears() else np.zeros_like(block)

    def close(self) -> None:
        """Stop; `blocks` ends."""
        self._microphone.close()


def open_fittings(
    settings: Settings, inbox: "Queue[Message]", now: Callable[[], float], tell: Callable[[str], None]
) -> Fittings:
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

    fittings = Fittings(inbox, blinker(pins.lamp, open_lamp), blinker(pins.buzzer, open_buzzer))
    if settings.foot_switch.device or pins.foot_switch != ABSENT:
        fittings.with_switch(lambda: open_switch(settings), now, settings.foot_switch.listen_s)
    return fittings


def open_switch(settings: Settings) -> Switch:
    """The foot switch of the settings: the USB pedal, else the one on a pin. Raises DeviceError."""
    if settings.foot_switch.device:
        return UsbPedal(find_pedal(settings.foot_switch.device))
    return PinSwitch(settings.pins.foot_switch)
