"""The parts that a kitchen may fit, as the station uses them: lamp, buzzer, foot switch. None is needed."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from queue import Queue

import numpy as np

from assistant.batch.record.commands import GotIt, Listening, SayAgain
from assistant.batch.record.state import State
from assistant.devices.foot_switch import Press, Switch, SwitchWatch
from assistant.devices.lamp import BEEPS, LONG_BEEPS, PATTERNS, Blinker, signal
from assistant.ports import Microphone, Pcm
from assistant.station.messages import EARS, Died, Found, Heard, Lost, Message, Noticed, Pressed, Recovered
from assistant.station.station import Turn
from assistant.station.workers import Worker


@dataclass(frozen=True, slots=True)
class FootSwitchFitting:
    """A foot switch to watch."""

    open: Callable[[], Switch]
    """Opens it; called again after it was lost. Raises DeviceError."""
    now: Callable[[], float]
    """The station's time (s)."""
    listen_s: float
    """How long the station listens after the foot came up (s)."""
    alive: Callable[[], None] = lambda: None
    """Called while it is watched: who does not call hangs in a driver."""


class Ears:
    """Whether all that hearing needs is there, by the messages of its parts."""

    def __init__(self) -> None:
        self._gone: set[str] = set()

    @property
    def work(self) -> bool:
        """Whether nothing of it is gone."""
        return not self._gone

    def follow(self, message: Message | None) -> None:
        """A message was taken."""
        match message:
            case Lost(what=part) | Died(worker=part) if part in EARS:
                self._gone.add(part)
            case Found(what=part) | Recovered(worker=part):
                self._gone.discard(part)
            case Heard():
                self._gone.clear()
            case _:
                pass


class Fittings:
    """What is fitted. `follow` belongs to the thread of the loop; the rest may be called from any.

    `asked`: whether something other than the batch, as the scale, waits for an answer.
    """

    def __init__(
        self,
        inbox: "Queue[Message]",
        *,
        lamp: Blinker | None = None,
        buzzer: Blinker | None = None,
        foot_switch: FootSwitchFitting | None = None,
        asked: Callable[[], bool] = lambda: False,
    ) -> None:
        self._inbox = inbox
        self._lamp = lamp
        self._buzzer = buzzer
        self._asked = asked
        self._ears = Ears()
        self._loud = False
        self._heard = False
        self._state = State()
        self._switch = (
            None
            if foot_switch is None
            else SwitchWatch(
                foot_switch.open,
                self._act,
                self._show,
                foot_switch.now,
                listen_s=foot_switch.listen_s,
                alive=foot_switch.alive,
            )
        )

    def workers(self) -> list[Worker]:
        """A worker for every part that needs one."""
        parts = {"lamp": self._lamp, "buzzer": self._buzzer, "foot switch": self._switch}
        return [Worker(name, part.run, self._inbox) for name, part in parts.items() if part is not None]

    def hears(self) -> bool:
        """Whether the cook may be heard now: the foot asked for it, or a question is open."""
        return (
            self._switch is None or self._state.question is not None or self._asked() or self._switch.hears()
        )

    def addressed(self) -> bool:
        """Whether the foot asked the station to listen."""
        return self._switch is not None and self._switch.hears()

    def follow(self, turn: Turn, message: Message | None, state: State) -> None:
        """Show on lamp and buzzer what a turn led to."""
        self._ears.follow(message)
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
            hears=self._ears.work and not self._loud and self._state.listening and self.hears(),
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
    """ports.Microphone whose blocks are silent while nobody asked to be heard."""

    def __init__(self, microphone: Microphone, hears: Callable[[], bool]) -> None:
        self._microphone = microphone
        self._hears = hears

    @property
    def rate(self) -> int:
        """Hz of the blocks."""
        return self._microphone.rate

    def blocks(self) -> Iterator[Pcm]:
        """Blocks as they come; silence of the same length while nobody asked."""
        for block in self._microphone.blocks():
            yield block if self._hears() else np.zeros_like(block)

    def close(self) -> None:
        """Stop; `blocks` ends."""
        self._microphone.close()
