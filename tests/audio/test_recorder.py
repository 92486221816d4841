"""The recording of a whole conversation, read back by the standard library."""

import wave
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.recorder import RECORDING_RATE, FileSpeaker
from assistant.errors import SoundError
from assistant.ports import Sound
from assistant.testing.sound import FakeSpeaker, check_speaker, hum

RATE = RECORDING_RATE


class Hands:
    """A clock that is moved by hand."""

    def __init__(self) -> None:
        self.now = 1_000.0

    def __call__(self) -> float:
        return self.now

    def move(self, seconds: float) -> None:
        self.now += seconds


def test_it_and_the_fake_keep_the_contract_of_a_speaker() -> None:
    for make in (FileSpeaker, FakeSpeaker):
        hands = Hands()
        check_speaker(make(hands), hands.move)


def test_a_sound_is_at_its_time() -> None:
    hands = Hands()
    speaker = FileSpeaker(hands)
    hands.move(2)
    speaker.play(hum(0.5, RATE))
    speaker.play(hum(0.25, RATE, 700))
    pcm = speaker.recording().pcm
    assert not pcm[: 2 * RATE].any()
    assert (pcm[2 * RATE :] == np.concatenate([hum(0.5, RATE).pcm, hum(0.25, RATE, 700).pcm])).all()


def test_the_devices_delay_counts_as_busy() -> None:
    hands = Hands()
    speaker = FileSpeaker(hands, latency_s=0.125)
    speaker.play(hum(0.5, RATE))
    hands.move(0.5625)
    assert speaker.busy
    hands.move(0.0625)
    assert not speaker.busy


def test_who_speaks_at_once_is_added_up_without_clipping() -> None:
    hands = Hands()
    speaker = FileSpeaker(hands)
    loud = Sound(np.full(RATE, 30_000, np.int16), RATE)
    speaker.play(loud)
    speaker.mix(loud, 1_000.5)
    pcm = speaker.recording().pcm.astype(int)
    assert len(pcm) == RATE * 3 // 2
    assert 30_000 < pcm[RATE * 3 // 4] < 32_768
    assert pcm[0] == pytest.approx(pcm[-1], abs=1)


def test_what_the_cook_says_is_no_reason_to_be_busy() -> None:
    hands = Hands()
    speaker = FileSpeaker(hands)
    speaker.mix(hum(1), hands.now)
    assert not speaker.busy
    assert speaker.recording().seconds == pytest.approx(1, abs=0.001)


def test_a_stop_cuts_what_is_coming_out_and_forgets_the_rest() -> None:
    hands = Hands()
    speaker = FileSpeaker(hands)
    speaker.mix(hum(0.5, RATE), 1_003)
    speaker.play(hum(1, RATE))
    speaker.play(hum(1, RATE))
    hands.move(0.4)
    speaker.stop()
    assert not speaker.busy
    pcm = speaker.recording().pcm
    assert (pcm[: round(0.4 * RATE)] == hum(1, RATE).pcm[: round(0.4 * RATE)]).all()
    assert not pcm[round(0.41 * RATE) : 3 * RATE].any()
    assert pcm[3 * RATE :].any()


def test_a_long_quiet_can_be_shortened() -> None:
    hands = Hands()
    speaker = FileSpeaker(hands)
    for pause in (0.0, 600.0, 1.0):
        hands.move(pause)
        speaker.play(hum(0.5, RATE))
        hands.move(0.5)
    assert speaker.recording().seconds == pytest.approx(602.5)
    assert speaker.recording(longest_quiet_s=2).seconds == pytest.approx(0.5 + 2 + 0.5 + 1 + 0.5)


def test_the_file_holds_the_recording(tmp_path: Path) -> None:
    hands = Hands()
    speaker = FileSpeaker(hands)
    hands.move(1)
    speaker.play(hum(0.3))
    speaker.save(tmp_path / "talk.wav")
    with wave.open(str(tmp_path / "talk.wav")) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        frames = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    assert (frames == speaker.recording().pcm).all()


def test_a_silent_conversation_is_an_empty_file(tmp_path: Path) -> None:
    FileSpeaker(Hands()).save(tmp_path / "talk.wav")
    with wave.open(str(tmp_path / "talk.wav")) as file:
        assert file.getnframes() == 0


def test_a_file_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "talk.wav"
    with pytest.raises(SoundError) as refusal:
        FileSpeaker(Hands()).save(path)
    assert str(refusal.value) == (
        f"the recording can't be written to {path}: No such file or directory; choose another folder"
    )
