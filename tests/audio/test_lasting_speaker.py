"""A speaker that is absent at the start, appears, vanishes, comes back."""

import threading

import pytest

from assistant.audio.lasting_speaker import BACK_OFF_S, LOOK_S, LastingSpeaker
from assistant.audio.playback import SoundSpeaker
from assistant.errors import SoundError
from assistant.testing.sound import check_speaker, hum
from assistant.testing.sound_card import FakeSoundCard


class Kit:
    """A lasting speaker on a card, and what it told."""

    def __init__(self) -> None:
        self.card = FakeSoundCard()
        self.told: list[str] = []
        self.speaker = LastingSpeaker(
            lambda: SoundSpeaker(library=self.card),
            on_lost=self.told.append,
            on_found=lambda: self.told.append("found"),
        )


def test_it_keeps_the_contract_of_a_speaker() -> None:
    kit = Kit()
    assert kit.speaker.look()
    check_speaker(kit.speaker, kit.card.run)


def test_one_that_comes_late_is_used() -> None:
    kit = Kit()
    kit.card.refuses = "Device unavailable"
    assert not kit.speaker.look()
    with pytest.raises(SoundError) as refusal:
        kit.speaker.play(hum(0.1))
    assert str(refusal.value) == "there is no speaker; plug it in, the timers go on"
    assert not kit.speaker.busy
    kit.speaker.stop()
    kit.card.refuses = ""
    assert kit.speaker.look()
    kit.speaker.play(hum(0.1))
    assert kit.speaker.busy
    assert kit.told[1:] == ["found"]


def test_one_that_is_pulled_comes_back_with_its_volume() -> None:
    kit = Kit()
    kit.speaker.look()
    kit.speaker.volume = 0.5
    kit.card.unplug()
    kit.card.refuses = "Device unavailable"
    assert not kit.speaker.look()
    assert kit.card.streams[0].closed
    kit.card.refuses = ""
    assert kit.speaker.look()
    kit.speaker.play(hum(0.1, 48_000))
    kit.card.run(0.1)
    assert abs(int(kit.card.streams[1].heard.max()) - int(hum(0.1).pcm.max()) // 2) <= 1
    assert kit.told == [
        "found",
        "there is no speaker; plug it in, the timers go on",
        "the speaker 'desk' can't be opened: Device unavailable; is something else using it?",
        "found",
    ]


def test_a_driver_that_raises_anything_is_tried_again_less_and_less_often() -> None:
    waits: list[float] = []

    class Stop(threading.Event):
        def wait(self, timeout: float | None = None) -> bool:
            waits.append(timeout or 0.0)
            if len(waits) == 7:
                self.set()
            return self.is_set()

    tries = 0

    def open_speaker() -> SoundSpeaker:
        nonlocal tries
        tries += 1
        if tries < 6:
            raise RuntimeError("Unanticipated host error")
        return SoundSpeaker(library=FakeSoundCard())

    told: list[str] = []
    LastingSpeaker(open_speaker, on_lost=told.append).run(Stop())
    assert waits == [*BACK_OFF_S, BACK_OFF_S[-1], LOOK_S, LOOK_S]
    assert told == ["Unanticipated host error"] * 5


def test_one_that_is_closed_stays_so() -> None:
    kit = Kit()
    kit.speaker.look()
    kit.speaker.play(hum(30))
    kit.speaker.close()
    assert not kit.speaker.look()
    assert [stream.closed for stream in kit.card.streams] == [True, True]
