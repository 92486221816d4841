"""Sound through a sound card that is none: PulseAudio's null sinks.

Here time is real; every wait is bounded.
"""

from collections.abc import Iterator
from contextlib import closing
from itertools import islice
from pathlib import Path
from threading import Event

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.audio.apart.microphone_apart import MicrophoneApart
from assistant.audio.apart.sound_process import start_microphone, start_speaker
from assistant.audio.apart.speaker_apart import SpeakerApart
from assistant.audio.capture import SoundMicrophone
from assistant.audio.playback import SoundSpeaker
from assistant.audio.resample import resample
from assistant.audio.sound_cards import list_devices
from assistant.clock import RealClock
from assistant.errors import SoundError
from assistant.hearing.gate import Gate
from assistant.ports import Pcm, Sound
from assistant.testing.sound import FakeVoice, check_microphone, check_speaker, hum
from tests.audio.virtual_card import (
    COOK,
    LATENCY_S,
    MICROPHONE,
    SPEAKER,
    WITNESS,
    VirtualCard,
    running_card,
)

pytestmark = [pytest.mark.sound_card, pytest.mark.usefixtures("virtual_card")]

LOUD = 300


def speaker_at(device: str, done: Event | None = None) -> SoundSpeaker:
    return SoundSpeaker(device=device, latency=LATENCY_S, on_finished=done.set if done else None)


def microphone_at(device: str, zeros_s: float = float("inf")) -> SoundMicrophone:
    """A null sink is quiet to the last bit, so zeros are no loss here unless a test says so."""
    return SoundMicrophone(device=device, latency=LATENCY_S, zeros_s=zeros_s)


def read(blocks: Iterator[Pcm], seconds: float) -> Pcm:
    """So much sound, which takes as long."""
    got: list[Pcm] = []
    while sum(map(len, got)) < seconds * 16_000:
        got.append(next(blocks))
    return np.concatenate(got)


def likeness(recorded: Pcm, sound: Sound) -> tuple[float, float]:
    """Where in the recording (s) the sound is, and the correlation there: 1.0 is the same."""
    heard = recorded.astype(float)
    meant: NDArray[np.float64] = resample(sound, 16_000).pcm.astype(float)
    size = len(heard) + len(meant)
    cross = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(meant, size)), size)
    at = int(cross[: len(heard) - len(meant)].argmax())
    there = heard[at : at + len(meant)]
    return at / 16_000, float(there @ meant / np.sqrt((there @ there) * (meant @ meant)))


def loud(pcm: Pcm) -> bool:
    return bool(np.abs(pcm.astype(int)).max(initial=0) > LOUD)


def test_portaudio_sees_the_four_devices_and_no_other(virtual_card: VirtualCard) -> None:
    assert virtual_card.daemon.poll() is None
    assert {device.name for device in list_devices()} == {SPEAKER, WITNESS, COOK, MICROPHONE}


def test_what_we_say_comes_out_as_it_was_and_we_know_when_it_ended() -> None:
    said = FakeVoice().speak("one fifty in")
    done = Event()
    with closing(microphone_at(WITNESS)) as witness, closing(speaker_at(SPEAKER, done)) as speaker:
        blocks = witness.blocks()
        next(blocks)
        speaker.play(said)
        assert speaker.busy
        recorded = read(blocks, said.seconds + 1.0)
        assert done.wait(5)
        assert not speaker.busy
        after = read(blocks, 0.3)
    at, same = likeness(recorded, said)
    assert same > 0.99
    assert at < 1.0
    assert not loud(after[-1_600:])


def test_what_the_cook_says_is_heard_as_it_was() -> None:
    said = FakeVoice(rate=120).speak("poured the rest")
    with closing(microphone_at(MICROPHONE)) as microphone, closing(speaker_at(COOK)) as cook:
        blocks = microphone.blocks()
        next(blocks)
        cook.play(said)
        _, same = likeness(read(blocks, said.seconds + 1.0), said)
        assert microphone.overflows == 0
    assert same > 0.99


def test_a_stop_is_heard_as_one() -> None:
    with closing(microphone_at(WITNESS)) as witness, closing(speaker_at(SPEAKER)) as speaker:
        blocks = witness.blocks()
        next(blocks)
        speaker.play(hum(20))
        assert any(loud(block) for block in islice(blocks, 60))
        speaker.stop()
        after = read(blocks, 1.0)
        assert not loud(after[-4_800:])
        assert not speaker.busy


def test_the_real_speaker_keeps_the_contract() -> None:
    with closing(microphone_at(WITNESS)) as witness:
        blocks = witness.blocks()
        check_speaker(speaker_at(SPEAKER), lambda seconds: read(blocks, seconds), slack_s=1.0)


def test_the_real_microphone_keeps_the_contract() -> None:
    check_microphone(microphone_at(MICROPHONE))


def test_the_gate_keeps_our_own_voice_out_and_lets_the_cook_in(virtual_card: VirtualCard) -> None:
    """The speaker is beside the microphone: what comes out of it goes into the room."""
    clock = RealClock()
    gate = Gate()
    module = virtual_card.control(
        "load-module", "module-loopback", "source=witness", "sink=room", "latency_msec=30"
    )
    try:
        with (
            closing(microphone_at(MICROPHONE)) as microphone,
            closing(speaker_at(SPEAKER)) as speaker,
            closing(speaker_at(COOK)) as cook,
        ):
            blocks = microphone.blocks()
            next(blocks)
            speaker.play(hum(0.5))
            raw: list[Pcm] = []
            gated: list[Pcm] = []
            while sum(map(len, raw)) < 2.0 * 16_000:
                raw.append(next(blocks))
                gated.append(gate.hear(raw[-1], clock.monotonic(), speaker.busy))
            cook.play(hum(0.5, hertz=700))
            answer = [gate.hear(block, clock.monotonic(), speaker.busy) for block in islice(blocks, 45)]
    finally:
        virtual_card.control("unload-module", module.strip())
    assert loud(np.concatenate(raw)), "the microphone didn't hear us: the test proves nothing"
    assert not loud(np.concatenate(gated))
    assert loud(np.concatenate(answer))


def test_a_microphone_that_is_pulled_is_noticed_and_heard_again_when_it_is_back(
    virtual_card: VirtualCard,
) -> None:
    """PulseAudio silently opens another source instead, here a silent one: only the zeros tell."""

    def microphone_apart() -> MicrophoneApart:
        return MicrophoneApart(
            lambda: start_microphone(device=MICROPHONE, latency=LATENCY_S, zeros_s=1.0), silent_s=20
        )

    with closing(SpeakerApart(lambda: start_speaker(device=COOK, latency=LATENCY_S), sign_s=20)) as speaker:
        with closing(microphone_apart()) as microphone:
            speaker.play(hum(2))
            blocks = microphone.blocks()
            assert any(loud(block) for block in islice(blocks, 60))
            virtual_card.pull_microphone()
            with pytest.raises(SoundError) as loss:
                list(islice(blocks, 300))
        virtual_card.plug_microphone()
        with closing(microphone_apart()) as microphone:
            speaker.play(hum(2))
            assert any(loud(block) for block in islice(microphone.blocks(), 60))
    assert (
        str(loss.value)
        == f"the microphone '{MICROPHONE}' sends nothing but zeros for 1 s; is it muted or unplugged?"
    )


def test_a_sound_server_that_dies_is_noticed_by_both(tmp_path: Path) -> None:
    with running_card(tmp_path) as card:
        done = Event()
        with closing(microphone_at(MICROPHONE)) as microphone, closing(speaker_at(SPEAKER, done)) as speaker:
            blocks = microphone.blocks()
            next(blocks)
            speaker.play(hum(20))
            card.die()
            with pytest.raises(SoundError) as loss:
                list(islice(blocks, 300))
            assert str(loss.value) in (
                f"the microphone '{MICROPHONE}' stopped; check its plug",
                f"the microphone '{MICROPHONE}' sent nothing for 1 s; check its plug",
            )
            assert done.wait(5)
            with pytest.raises(SoundError, match="is gone; plug it in again"):
                speaker.play(hum(1))
            assert not speaker.busy
