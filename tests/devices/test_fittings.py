import threading
from collections.abc import Callable
from queue import Queue

import numpy as np
import pytest
from gpiozero.pins.mock import MockFactory

from assistant.app.adapters import open_switch
from assistant.app.fitted_parts import fit_parts
from assistant.clock import ScriptedClock
from assistant.config.settings import Settings
from assistant.config.station_settings import FootSwitchSettings, PinSettings
from assistant.devices.foot_switch import FootSwitch, Press
from assistant.devices.lamp import BEEPS, DARK, FAST, LONG_BEEPS, SLOW, STEADY, WINK, Blinker, Pattern
from assistant.errors import DeviceError
from assistant.station.fittings import Fittings, FootSwitchFitting, WhenAsked
from assistant.station.messages import Found, Lost, Message, Noticed, Pressed
from assistant.station.station import Turn
from assistant.testing.sound import FakeMicrophone
from tests.station.stand import Stand


class _Shown(Blinker):
    def __init__(self) -> None:
        self.patterns: list[Pattern] = []

    def show(self, pattern: Pattern) -> None:
        self.patterns.append(pattern)


class Kit:
    """A station with lamp and buzzer, and a foot switch where one is given; returns what each turn showed."""

    def __init__(self, foot: "Foot | None" = None, asked: Callable[[], bool] = lambda: False) -> None:
        self.stand = Stand()
        self.lamp, self.buzzer = _Shown(), _Shown()
        self.inbox: Queue[Message] = Queue()
        self.fittings = Fittings(
            self.inbox,
            lamp=self.lamp,
            buzzer=self.buzzer,
            foot_switch=FootSwitchFitting(lambda: foot, self.stand.clock.monotonic, 8.0) if foot else None,
            asked=asked,
        )

    def follow(self, turn: Turn, message: Message | None = None) -> Pattern:
        self.fittings.follow(turn, message, self.stand.station.state)
        return self.lamp.patterns[-1]

    def say(self, text: str) -> Pattern:
        return self.follow(self.stand.station.hear(text))

    def press(self) -> list[str]:
        """Answers to what the foot asked for."""
        keys = list[str]()
        while not self.inbox.empty():
            message = self.inbox.get()
            assert isinstance(message, Pressed)
            turn = self.stand.station.press(message.command)
            self.follow(turn, message)
            keys += [reply.key for reply in turn.replies]
        return keys

    def wait(self, seconds: float) -> Pattern:
        """What the lamp shows at the end of that time; what fell due in it was shown at its own time."""
        for turn in self.stand.wait(seconds):
            self.follow(turn)
        return self.lamp.patterns[-1]


def fit(settings: Settings, told: list[str]) -> Fittings:
    return fit_parts(settings, Queue(), now=lambda: 0.0, warn=told.append)


def test_the_lamp_follows_the_turns() -> None:
    kit = Kit()
    assert kit.say("new batch fifteen hundred") == WINK
    assert kit.say("pass me the salt") == STEADY
    assert kit.say("water six hundred") == SLOW
    assert kit.say("no") == WINK
    assert kit.say("ears off") == DARK
    assert kit.say("ears on") == WINK


def test_a_ringing_timer_shows_and_sounds_until_it_is_silenced() -> None:
    kit = Kit()
    kit.say("timer three ten minutes")
    assert kit.buzzer.patterns == []
    assert kit.wait(600) == FAST
    assert kit.buzzer.patterns == [BEEPS]
    assert kit.say("pass me the salt") == FAST
    for _ in range(4):
        assert kit.wait(15) == FAST
    assert kit.buzzer.patterns[-1] == LONG_BEEPS
    assert kit.say("got it") == WINK


def test_a_lost_microphone_is_a_dark_lamp() -> None:
    kit = Kit()
    lost, found = Lost("microphone", "gone"), Found("microphone")
    assert kit.follow(kit.stand.station.announce("cannot_hear"), lost) == DARK
    assert kit.follow(kit.stand.station.announce("ready"), Lost("speaker", "gone")) == DARK
    assert kit.follow(kit.stand.station.announce("hearing_again"), found) == STEADY


@pytest.mark.usefixtures("factory")
def test_nothing_is_fitted_unless_it_is_named() -> None:
    told: list[str] = []
    fittings = fit(Settings(), told)
    assert fittings.workers() == []
    assert told == []


def test_what_is_named_is_fitted_and_lit(factory: MockFactory) -> None:
    told: list[str] = []
    fittings = fit(Settings(pins=PinSettings(lamp=17, buzzer=27)), told)
    workers = fittings.workers()
    assert [worker.name for worker in workers] == ["lamp", "buzzer"]
    for worker in workers:
        worker.start().stop()
        assert not worker._thread.is_alive()
    assert factory.pin(17).state == 0
    assert told == []


@pytest.mark.usefixtures("factory")
def test_a_part_that_cant_be_used_is_reported_and_found_later() -> None:
    told: list[str] = []
    taken = fit(Settings(pins=PinSettings(lamp=17)), told)
    fittings = fit(Settings(pins=PinSettings(lamp=17, buzzer=27)), told)
    assert [worker.name for worker in fittings.workers()] == ["lamp", "buzzer"]
    assert [line.partition(" (")[0] for line in told] == ["The lamp on GPIO 17 can't be used"]
    del taken


# --- the foot switch


class Foot:
    """A switch that the test holds down or up."""

    def __init__(self) -> None:
        self.pressed = False

    def down(self) -> bool:
        return self.pressed

    def close(self) -> None:
        pass


class _Clocked(threading.Event):
    """An end that waits no time: each wait moves the clock, and the script acts at its times."""

    def __init__(self, clock: ScriptedClock, script: dict[float, Callable[[], None]], until: float) -> None:
        super().__init__()
        self.clock, self.script, self.until = clock, dict(script), until

    def wait(self, timeout: float | None = None) -> bool:
        self.clock.move(timeout or 0.0)
        for at in [at for at in self.script if at <= self.clock.monotonic()]:
            self.script.pop(at)()
        if self.clock.monotonic() >= self.until:
            self.set()
        return self.is_set()


def watched(kit: Kit, script: dict[float, Callable[[], None]], until: float) -> None:
    clock = kit.stand.clock
    assert kit.fittings._switch is not None
    kit.fittings._switch.run(_Clocked(clock, script, until))


def test_with_a_foot_switch_the_lamp_is_lit_while_it_hears() -> None:
    foot = Foot()
    kit = Kit(foot)
    heard: list[bool] = []

    def ask() -> None:
        heard.append(kit.fittings.hears())

    def turn(down: bool) -> Callable[[], None]:
        return lambda: setattr(foot, "pressed", down)

    watched(kit, {1.0: turn(True), 1.2: turn(False), 2: ask, 9: ask, 9.5: ask}, 12.0)
    assert heard == [True, True, False]
    assert kit.lamp.patterns == [DARK, STEADY, DARK]


def test_a_question_is_heard_without_the_foot() -> None:
    kit = Kit(Foot())
    assert kit.fittings._switch is not None
    kit.fittings._switch._foot = FootSwitch(False, 0.0, listen_s=8.0)
    assert not kit.fittings.hears()
    assert kit.say("new batch fifteen hundred") == DARK
    assert kit.say("water six hundred") == SLOW
    assert kit.fittings.hears()


@pytest.mark.parametrize(
    ("press", "said", "answered"),
    [
        (Press.SILENCE, ["timer three ten minutes"], []),
        (Press.AGAIN, ["new batch fifteen hundred"], ["batch_opened", "first_pour"]),
        (Press.LISTEN, ["ears off"], ["listening_on"]),
        (Press.LISTEN, [], []),
    ],
)
def test_what_a_press_leads_to(press: Press, said: list[str], answered: list[str]) -> None:
    kit = Kit()
    for text in said:
        kit.say(text)
    kit.fittings._act(press)
    assert kit.press() == answered


def test_a_long_press_silences_what_rings() -> None:
    kit = Kit()
    kit.say("timer three ten minutes")
    assert kit.wait(600) == FAST
    kit.fittings._act(Press.SILENCE)
    assert kit.press() == ["got_it"]
    assert kit.lamp.patterns[-1] == WINK


@pytest.mark.parametrize(
    ("press", "text"),
    [
        (Press.STUCK, "The foot switch is stuck. I listen all the time."),
        (Press.LOST, "The foot switch is gone. I listen all the time."),
        (Press.WORKS, "The foot switch works again."),
    ],
)
def test_trouble_with_the_switch_is_reported(press: Press, text: str) -> None:
    kit = Kit()
    kit.fittings._act(press)
    message = kit.inbox.get_nowait()
    assert isinstance(message, Noticed)
    assert [reply.text for reply in kit.stand.station.announce(message.key).replies] == [text]


def test_without_being_asked_the_microphone_gives_silence() -> None:
    asked = iter([True, False, True])
    sound = np.repeat(np.array([1, 2, 3], dtype=np.int16), 4)
    microphone = WhenAsked(FakeMicrophone(sound, rate=16_000, block=4), lambda: next(asked))
    assert [block.tolist() for block in microphone.blocks()] == [[1] * 4, [0] * 4, [3] * 4]
    assert microphone.rate == 16_000
    microphone.close()


def test_the_switch_of_the_settings(factory: MockFactory) -> None:
    settings = Settings(pins=PinSettings(foot_switch=22))
    assert [worker.name for worker in fit(settings, []).workers()] == ["foot switch"]
    switch = open_switch(settings)
    assert not switch.down()
    factory.pin(22).drive_low()
    assert switch.down()
    switch.close()
    with pytest.raises(DeviceError, match=r'^There is no pedal with "no such" in the name; '):
        open_switch(Settings(foot_switch=FootSwitchSettings(device="no such")))


def test_what_the_scale_asks_is_heard_without_the_foot() -> None:
    asked = False
    kit = Kit(Foot(), asked=lambda: asked)
    assert kit.fittings._switch is not None
    kit.fittings._switch._foot = FootSwitch(False, 0.0, listen_s=8.0)
    assert not kit.fittings.hears()
    asked = True
    assert kit.fittings.hears()
