"""Each device of a station with its real adapter and worker, on a fake of what is plugged in."""

import os
import threading
from collections.abc import Callable
from pathlib import Path
from queue import Empty, Queue
from typing import Any

import numpy as np
from gpiozero.pins.mock import MockFactory, MockPin

from assistant.apart import Channel
from assistant.audio.apart.microphone_apart import MicrophoneApart
from assistant.audio.apart.sound_process import serve_microphone, serve_speaker
from assistant.audio.apart.speaker_apart import SpeakerApart
from assistant.audio.capture import SoundMicrophone
from assistant.audio.lasting_speaker import LastingSpeaker
from assistant.audio.playback import SoundSpeaker
from assistant.batch.record.commands import Command
from assistant.devices.foot_switch import Press, Switch, SwitchWatch
from assistant.devices.lamp import STEADY, Blinker, Output, Pattern, open_buzzer, open_lamp
from assistant.devices.pedals import PinSwitch, UsbPedal
from assistant.devices.scale.hx711 import Hx711
from assistant.devices.scale.jug_scale import Back, Gone, JugScale, Live
from assistant.devices.scale.nau7802 import Nau7802
from assistant.hearing.early_decision import Patience, PatientListener, SentenceEnds
from assistant.hearing.gate import Gate
from assistant.hearing.listeners import LiveHearing
from assistant.hearing.recognising import at_once
from assistant.ports import Asking, ScaleReader
from assistant.station.alive.vital_parts import Parts
from assistant.station.messages import Found, Lost, Message
from assistant.testing.apart import FakeApart
from assistant.testing.audio import ScriptedRecogniser
from assistant.testing.devices import FakeNau7802
from assistant.testing.sound import hum
from assistant.testing.sound_card import FakeSoundCard
from tests.station.test_live_hearing import LevelEndpointer

WAIT_S = 5.0
"""Longest that a thread is waited for (s)."""


class LgpioError(Exception):
    """As the pin library's: neither an OSError nor anything of ours."""


class Rig:
    """A device: nothing is plugged in at first. `told` has "gone" and "back" as the station learns."""

    def __init__(self, folder: Path, factory: MockFactory) -> None:
        self.folder = folder
        self.factory = factory
        self.told: list[str] = []
        self.plugged = False
        self.alive: Callable[[], None] = lambda: None
        self.touched: Callable[[], None] = lambda: None
        """Called with every access to the driver; the test may hang in it."""
        self.now = 0.0

    def plug(self) -> None:
        """It is there from now on."""
        self.plugged = True

    def unplug(self) -> None:
        """It is gone from now on."""
        self.plugged = False

    def run(self, stop: threading.Event) -> None:
        """Its worker."""
        raise NotImplementedError

    def gone(self, _why: str = "") -> None:
        """The station learns that it is gone."""
        self.told.append("gone")

    def back(self) -> None:
        """The station learns that it is back."""
        self.told.append("back")

    def lives(self) -> None:
        """The worker says that it does not hang."""
        self.alive()

    def time(self) -> float:
        """A moment passes with every question for the time."""
        self.now += 0.05
        return self.now

    def driver(self) -> None:
        """What every access to a pin does."""
        self.touched()
        if not self.plugged:
            raise LgpioError("GPIO busy")


class _Pin(MockPin):  # type: ignore[misc]
    """A pin whose driver may fail."""

    rig: Rig

    def _get_state(self) -> Any:
        self.rig.driver()
        return super()._get_state()

    def _set_state(self, value: Any) -> None:
        self.rig.driver()
        super()._set_state(value)


class _Pins(Rig):
    def __init__(self, folder: Path, factory: MockFactory) -> None:
        super().__init__(folder, factory)
        factory.pin_class = type("Pin", (_Pin,), {"rig": self})


class Lamp(_Pins):
    """The lamp on its pin; the buzzer is the same."""

    opens: Callable[[int], Output] = staticmethod(open_lamp)

    def run(self, stop: threading.Event) -> None:
        class Shown(Queue[Pattern]):
            """Each wait for a pattern is a step of the test; another is shown then."""

            def get(self, block: bool = True, timeout: float | None = None) -> Pattern:  # noqa: ARG002
                if stop.wait(timeout):
                    raise Empty
                return STEADY

        Blinker(
            lambda: self.opens(17),
            Shown(),
            on_lost=self.gone,
            on_found=self.back,
            alive=self.lives,
        ).run(stop)


class Buzzer(Lamp):
    opens = staticmethod(open_buzzer)


class FootSwitch(_Pins):
    """The foot switch on its pin."""

    def open(self) -> Switch:
        return PinSwitch(22)

    def run(self, stop: threading.Event) -> None:
        def act(press: Press) -> None:
            {Press.LOST: self.gone, Press.WORKS: self.back}.get(press, lambda: None)()

        SwitchWatch(self.open, act, lambda: None, self.time, listen_s=5.0, alive=self.lives).run(stop)


class Pedal(FootSwitch):
    """A USB pedal: a file of the kernel."""

    def __init__(self, folder: Path, factory: MockFactory) -> None:
        super().__init__(folder, factory)
        self.file = folder / "event0"
        self._keeper = -1

    def plug(self) -> None:
        super().plug()
        os.mkfifo(self.file)
        self._keeper = os.open(self.file, os.O_RDWR)

    def unplug(self) -> None:
        super().unplug()
        self.file.unlink()
        os.close(self._keeper)

    def open(self) -> Switch:
        rig = self

        class Pulled(UsbPedal):
            """A pedal whose file answers as the kernel's does once it was pulled out."""

            def _read(self) -> bytes:
                rig.touched()
                if not rig.plugged:
                    closed, self._handle = self._handle, os.open(rig.folder, os.O_RDONLY)
                    os.close(closed)
                return super()._read()

        return Pulled(self.file, grab=False)


class _Scale(Rig):
    def open(self) -> ScaleReader:
        raise NotImplementedError

    def run(self, stop: threading.Event) -> None:
        def report(found: object) -> None:
            if isinstance(found, Gone | Back):
                self.told.append("gone" if isinstance(found, Gone) else "back")

        scale = JugScale(None, report, lambda _: None)
        Live(scale, self.open, self.time, rate=80, alive=self.lives).run(stop)


class ScaleOnI2c(_Scale):
    """The jug scale with an NAU7802."""

    def open(self) -> ScaleReader:
        rig = self

        class Bus(FakeNau7802):
            def _answer(self) -> None:
                rig.touched()
                self.missing = not rig.plugged
                super()._answer()
                self.convert(1000)

        return Nau7802(Bus(), 80, lambda _: None)


class ScaleOnSpi(_Scale):
    """The jug scale with an HX711: without it the line stays high, and nothing says that it is gone."""

    def open(self) -> ScaleReader:
        rig = self

        class Spi:
            def transfer(self, data: list[int]) -> list[int]:
                rig.touched()
                if not rig.plugged:
                    return [0xFF] * len(data)
                return [0x00] if len(data) == 1 else [*([0x00] * 6), 0x7F]

            def close(self) -> None:
                pass

        return Hx711(Spi())


class MicrophoneRig(Rig):
    """The microphone, in its process; each that is opened is pulled after two seconds of sound."""

    def run(self, stop: threading.Event) -> None:
        inbox: Queue[Message] = Queue()

        class Told(Queue[Message]):
            def put(inner, item: Message, block: bool = True, timeout: float | None = None) -> None:  # noqa: N805
                if isinstance(item, Lost | Found):
                    self.told.append("gone" if isinstance(item, Lost) else "back")
                inbox.put(item, block, timeout)

        def serve(channel: Channel, _killed: threading.Event) -> None:
            card = FakeSoundCard()
            card.refuses = "" if self.plugged else "Device unavailable"

            def opened() -> SoundMicrophone:
                microphone = SoundMicrophone(library=card)
                card.hear(np.random.default_rng(1).integers(-900, 900, 96_000).astype(np.int16))
                card.run(2.0)
                card.unplug()
                return microphone

            serve_microphone(channel, opened)

        told = Told()
        listener = PatientListener(
            LevelEndpointer(),
            at_once(ScriptedRecogniser[Command]([], lambda _: None), lambda: Asking.NOTHING),
            SentenceEnds(lambda *_, **__: None, lambda *_, **__: None),
            Patience(),
            act_above=0.85,
        )
        LiveHearing(
            lambda: MicrophoneApart(lambda: FakeApart(serve, "microphone")),
            listener,
            Gate(),
            told,
            now=self.time,
            busy=lambda: False,
            parts=Parts(told, self.time),
        ).capture(stop)


class SpeakerRig(Rig):
    """The speaker, in its process."""

    def __init__(self, folder: Path, factory: MockFactory) -> None:
        super().__init__(folder, factory)
        self.card = FakeSoundCard()
        self.card.refuses = "Device unavailable"
        self._lost = False
        self.opened: list[SpeakerApart] = []

    def plug(self) -> None:
        super().plug()
        self.card.refuses = ""

    def unplug(self) -> None:
        super().unplug()
        self.card.refuses = "Device unavailable"
        self.opened[-1].play(hum(1))
        self.card.unplug()
        assert self.opened[-1].wait_finished(WAIT_S), "it is lost now"

    def run(self, stop: threading.Event) -> None:
        def serve(channel: Channel, _killed: threading.Event) -> None:
            serve_speaker(channel, lambda finished: SoundSpeaker(library=self.card, on_finished=finished))

        def open_speaker() -> SpeakerApart:
            self.opened.append(SpeakerApart(lambda: FakeApart(serve, "speaker")))
            return self.opened[-1]

        def lost(_why: str) -> None:
            if not self._lost:
                self.gone()
            self._lost = True

        def found() -> None:
            if self._lost:
                self.back()
            self._lost = False

        speaker = LastingSpeaker(open_speaker, on_lost=lost, on_found=found)
        speaker.run(stop)
        speaker.close()
