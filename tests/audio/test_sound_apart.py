"""Microphone and speaker in processes of their own: the real adapters, over a fake card and a fake process.

What a wedged driver does is an event that only a kill sets.
"""

import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from queue import Queue
from typing import Any

import numpy as np
import pytest

from assistant.apart import Channel
from assistant.audio.apart.microphone_apart import MicrophoneApart
from assistant.audio.apart.sound_process import serve_microphone, serve_speaker
from assistant.audio.apart.speaker_apart import SpeakerApart
from assistant.audio.capture import SoundMicrophone
from assistant.audio.playback import SoundSpeaker
from assistant.errors import SoundError
from assistant.ports import Pcm, Sound
from assistant.testing.apart import FakeApart
from assistant.testing.sound import check_microphone, check_speaker, hum
from assistant.testing.sound_card import FakeSoundCard

WAIT_S = 5.0
"""Longest that a thread of a test is waited for (s)."""


def microphone_on(card: FakeSoundCard) -> FakeApart:
    return FakeApart(
        lambda channel, _: serve_microphone(channel, lambda: SoundMicrophone(library=card, no_block_s=WAIT_S))
    )


def speaker_on(card: FakeSoundCard) -> FakeApart:
    return FakeApart(
        lambda channel, _: serve_speaker(
            channel, lambda finished: SoundSpeaker(library=card, on_finished=finished)
        )
    )


def noise(card: FakeSoundCard, seconds: float = 1.0) -> None:
    card.hear(np.random.default_rng(1).integers(-3_000, 3_000, round(48_000 * seconds)).astype(np.int16))
    card.run(seconds)


def test_a_microphone_apart_keeps_the_contract_and_gives_the_same_blocks() -> None:
    card = FakeSoundCard()
    direct = SoundMicrophone(library=card, no_block_s=WAIT_S)
    microphone = MicrophoneApart(lambda: microphone_on(card))
    assert microphone.name == "desk"
    noise(card)
    blocks, ours = microphone.blocks(), direct.blocks()
    for _ in range(20):
        difference = next(blocks).astype(int) - next(ours)
        assert np.abs(difference).max() <= 2, "the resampler rounds with a dither of its own"
    noise(card)
    check_microphone(microphone)


def test_a_microphone_that_is_refused_or_lost_says_why() -> None:
    card = FakeSoundCard()
    card.refuses = "Device unavailable"
    processes: list[FakeApart] = []

    def start() -> FakeApart:
        processes.append(microphone_on(card))
        return processes[-1]

    with pytest.raises(SoundError, match=r"^the microphone 'desk' can't be opened: Device unavailable"):
        MicrophoneApart(start)
    card.refuses = ""
    microphone = MicrophoneApart(start)
    noise(card, 0.2)
    card.unplug()
    with pytest.raises(SoundError, match=r"^the microphone 'desk' stopped; check its plug$"):
        list(microphone.blocks())
    microphone.close()
    assert [one.killed for one in processes] == [True, True]


def test_a_driver_that_raises_anything_is_a_lost_microphone() -> None:
    class Broken(SoundMicrophone):
        def blocks(self) -> Iterator[Pcm]:
            raise RuntimeError("Unanticipated host error")

    card = FakeSoundCard()
    process = FakeApart(lambda channel, _: serve_microphone(channel, lambda: Broken(library=card)))
    with closing(MicrophoneApart(lambda: process)) as microphone, pytest.raises(SoundError) as loss:
        list(microphone.blocks())
    assert str(loss.value) == "RuntimeError: Unanticipated host error"


def wedged_at_open(_channel: Channel, killed: threading.Event) -> None:
    killed.wait()


def wedged_after_open(channel: Channel, killed: threading.Event) -> None:
    channel.send("desk")
    killed.wait()


def wedged_speaker(channel: Channel, killed: threading.Event) -> None:
    channel.send(("desk", 0.05))
    killed.wait()


@pytest.mark.parametrize(
    ("wedged", "line"),
    [
        (
            wedged_at_open,
            "the microphone 'microphone' hangs (the fake does not answer for 0 s); check its plug",
        ),
        (wedged_after_open, "the microphone 'desk' hangs (the fake does not answer for 0 s); check its plug"),
    ],
)
def test_a_wedged_driver_of_a_microphone_is_ended(
    wedged: Callable[[Channel, threading.Event], None], line: str
) -> None:
    process = FakeApart(wedged)
    open_s = 0.0 if wedged is wedged_at_open else WAIT_S

    def hear() -> None:
        with closing(MicrophoneApart(lambda: process, open_s=open_s, silent_s=0.0)) as microphone:
            list(microphone.blocks())

    with pytest.raises(SoundError) as loss:
        hear()
    assert str(loss.value) == line
    assert process.killed


def test_closing_a_microphone_whose_close_would_never_return_returns() -> None:
    """PortAudio's close has an endless loop for a device that was pulled; nobody asks it to close now."""
    process = FakeApart(wedged_after_open)
    microphone = MicrophoneApart(lambda: process)
    waiting = threading.Thread(target=lambda: list(microphone.blocks()))
    waiting.start()
    microphone.close()
    waiting.join(WAIT_S)
    assert not waiting.is_alive()
    assert process.killed


class Noting(SoundSpeaker):
    """Notes what it was asked."""

    def __init__(self, done: "Queue[None]", **options: Any) -> None:
        super().__init__(**options)
        self._done = done

    def play(self, sound: Sound) -> None:
        super().play(sound)
        self._done.put(None)

    def stop(self) -> None:
        super().stop()
        self._done.put(None)


class Counted(SpeakerApart):
    """Counts what it sends."""

    sent = 0

    def play(self, sound: Sound) -> None:
        self.sent += bool(len(sound.pcm))
        super().play(sound)

    def stop(self) -> None:
        self.sent += 1
        super().stop()


def test_a_speaker_apart_keeps_the_contract() -> None:
    card, done, opened = FakeSoundCard(), Queue[None](), list[Noting]()

    def open_speaker(finished: Callable[[], None]) -> Noting:
        opened.append(Noting(done, library=card, on_finished=finished))
        return opened[-1]

    speaker = Counted(lambda: FakeApart(lambda channel, _: serve_speaker(channel, open_speaker)))
    assert speaker.name == "desk"
    assert speaker.latency_s == FakeSoundCard().latency_s

    def let_pass(seconds: float) -> None:
        """Time passes on the card once all that was sent is there, and what it tells then is waited for."""
        for _ in range(speaker.sent):
            done.get(timeout=WAIT_S)
        speaker.sent = 0
        card.run(seconds)
        if not opened[0].busy:
            speaker.wait_finished(WAIT_S)

    check_speaker(speaker, let_pass)


def test_a_speaker_that_is_refused_or_pulled_says_why() -> None:
    card = FakeSoundCard()
    card.refuses = "Device unavailable"
    with pytest.raises(SoundError, match=r"^the speaker 'desk' can't be opened: Device unavailable"):
        SpeakerApart(lambda: speaker_on(card))
    card.refuses = ""
    speaker = SpeakerApart(lambda: speaker_on(card))
    speaker.play(hum(1))
    assert speaker.busy
    card.unplug()
    assert speaker.wait_finished(WAIT_S)
    assert speaker.lost
    with pytest.raises(SoundError, match=r"^the speaker 'desk' is gone; plug it in again"):
        speaker.play(hum(1))


def test_a_wedged_driver_of_a_speaker_is_ended() -> None:
    process = FakeApart(wedged_at_open)
    with pytest.raises(SoundError) as refusal:
        SpeakerApart(lambda: process, open_s=0.0)
    assert str(refusal.value) == (
        "the speaker hangs as it is opened (the fake does not answer for 0 s); check its plug"
    )
    process = FakeApart(wedged_speaker)
    speaker = SpeakerApart(lambda: process, sign_s=0.0)
    speaker._sent = 1  # as if something were being played
    assert speaker.wait_finished(WAIT_S)
    speaker.close()
    assert process.killed
