"""A reply sounds from its first sentence on; the voice makes the rest meanwhile."""

import threading

import numpy as np
import pytest

from assistant.ports import Sound
from assistant.station.speaking import Announcer, first_and_rest
from assistant.station.station import SpokenReply

WAIT_S = 5.0
"""Only a failing test waits this long."""


class HeldVoice:
    """A voice whose second sentence is not there before the first sounds."""

    rate, voice = 150, "held"

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.first_sounds = threading.Event()

    def speak(self, text: str) -> Sound:
        self.asked.append(text)
        if len(self.asked) > 1:
            assert self.first_sounds.wait(WAIT_S)
        return Sound(np.full(len(text), len(self.asked), np.int16), 16_000)

    def close(self) -> None:
        pass


class Played:
    """A speaker that says when the first sound began."""

    volume = 1.0

    def __init__(self, begun: threading.Event) -> None:
        self.sounds: list[int] = []
        self._begun = begun

    def play(self, sound: Sound) -> None:
        self.sounds.append(len(sound.pcm))
        self._begun.set()


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("One fifty in. Two ninety to go.", ("One fifty in.", "Two ninety to go.")),
        ("Crumb dry? Off first. Then squeeze.", ("Crumb dry?", "Off first. Then squeeze.")),
        ("At 31.5 percent.", ("At 31.5 percent.",)),
        ("", ("",)),
    ],
)
def test_a_text_is_parted_behind_its_first_sentence(text: str, parts: tuple[str, ...]) -> None:
    assert first_and_rest(text) == parts


def test_the_first_sentence_sounds_before_the_rest_is_made() -> None:
    voice = HeldVoice()
    speaker = Played(voice.first_sounds)
    announcer = Announcer(voice, speaker, {})  # type: ignore[arg-type]
    announcer.speak((SpokenReply("", "One fifty in. Two ninety to go."),))
    assert voice.asked == ["One fifty in.", "Two ninety to go."]
    assert speaker.sounds == [len(text) for text in voice.asked]
