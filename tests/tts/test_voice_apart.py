"""A voice in a process of its own: what hangs there is ended, and the next sentence is said."""

import threading
from collections.abc import Callable
from contextlib import closing
from typing import Any

import numpy as np
import pytest

from assistant.apart import Channel
from assistant.errors import VoiceError
from assistant.ports import Sound
from assistant.testing.apart import FakeApart
from assistant.testing.sound import FakeVoice, check_voice
from assistant.tts.voice_apart import VoiceApart, serve


def works(channel: Channel, _killed: threading.Event) -> None:
    serve(channel, lambda voice, rate: FakeVoice(voice=voice, rate=rate))


def hangs(channel: Channel, killed: threading.Event) -> None:
    channel.ready(5)
    channel.receive(0)
    killed.wait()


def ends(channel: Channel, _killed: threading.Event) -> None:
    channel.ready(5)


def breaks(channel: Channel, _killed: threading.Event) -> None:
    def make(voice: str, rate: int) -> Any:
        raise RuntimeError(f"no {voice} at {rate}")

    serve(channel, make)


def test_it_keeps_the_contract_of_a_voice() -> None:
    check_voice(VoiceApart(lambda: FakeApart(works)))


def test_the_sound_is_that_of_the_voice_in_it() -> None:
    with closing(VoiceApart(lambda: FakeApart(works), voice="it", rate=200)) as voice:
        made, direct = voice.speak("Pronto."), FakeVoice(rate=200).speak("Pronto.")
    assert np.array_equal(made.pcm, direct.pcm)
    assert made.rate == direct.rate


@pytest.mark.parametrize("bad", [hangs, ends])
def test_one_that_hangs_or_crashes_is_ended_and_the_next_sentence_is_said(
    bad: Callable[[Channel, threading.Event], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.tts.voice_apart.START_S", 0.0 if bad is hangs else 5.0)
    processes = [FakeApart(bad, "voice"), FakeApart(works, "voice")]
    starting = iter(processes)
    with closing(VoiceApart(lambda: next(starting))) as voice:
        with pytest.raises(VoiceError, match=r"^the voice hung and is begun anew \(the voice "):
            voice.speak("Ready.")
        assert processes[0].killed
        monkeypatch.setattr("assistant.tts.voice_apart.START_S", 5.0)
        assert isinstance(voice.speak("Ready."), Sound)


def test_what_goes_wrong_in_it_is_one_line() -> None:
    with closing(VoiceApart(lambda: FakeApart(breaks))) as voice:
        for _ in range(2):
            with pytest.raises(VoiceError) as refusal:
                voice.speak("Ready.")
            assert str(refusal.value) == "RuntimeError: no en at 160"


def test_a_rate_that_the_engine_does_not_take_is_refused_at_once() -> None:
    with pytest.raises(VoiceError) as refusal:
        VoiceApart(lambda: FakeApart(works), rate=20)
    assert str(refusal.value) == "20 words a minute is not between 80 and 400; 160 is plain speech"
