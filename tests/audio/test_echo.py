"""A known tone in what a microphone heard."""

import numpy as np
import pytest

from assistant.audio.echo import find_tone
from assistant.audio.resample import resample
from assistant.audio.tones import tone
from assistant.ports import SPEECH_RATE, Pcm
from assistant.testing.sound import FakeVoice

RING: Pcm = resample(tone("ring_firm"), SPEECH_RATE).pcm


def room(level: float, seconds: float, seed: int = 1) -> Pcm:
    return np.random.default_rng(seed).normal(0, level, round(seconds * SPEECH_RATE)).astype(np.int16)


def with_tone(quiet: Pcm, at: int, loudness: float) -> Pcm:
    heard = quiet.astype(float)
    heard[at : at + len(RING)] += loudness * RING
    return heard.astype(np.int16)


@pytest.mark.parametrize(("level", "loudness"), [(0.0, 1.0), (0.0, 0.001), (300.0, 0.3), (3000.0, 0.1)])
def test_a_tone_is_found_where_it_is(level: float, loudness: float) -> None:
    heard = with_tone(room(level, 2), 4321, loudness)
    assert find_tone(heard, RING, room(level, 1, seed=2)) == pytest.approx(4321, abs=16)


def test_a_tone_is_found_in_a_room_that_echoes() -> None:
    decay = np.exp(-np.arange(4000) / 1200) * np.random.default_rng(3).normal(0, 0.3, 4000)
    decay[0] = 1.0
    heard = np.convolve(with_tone(room(20, 2), 4321, 0.1).astype(float), decay)[: 2 * SPEECH_RATE]
    found = find_tone(heard.astype(np.int16), RING, room(60, 1, seed=2))
    assert found == pytest.approx(4321, abs=480)  # within 30 ms


@pytest.mark.parametrize("level", [0.0, 3.0, 3000.0])
def test_a_room_without_it_has_none(level: float) -> None:
    assert find_tone(room(level, 2), RING, room(level, 1, seed=2)) is None


def test_speech_that_begins_meanwhile_is_not_taken_for_it() -> None:
    said = resample(FakeVoice().speak("four thirty in, fifty left, and mix it"), SPEECH_RATE).pcm
    talk = np.resize(said, 3 * SPEECH_RATE)
    assert find_tone(talk[SPEECH_RATE:], RING, talk[:SPEECH_RATE]) is None


def test_a_motor_that_hums_at_its_pitch_is_not_taken_for_it() -> None:
    hum_at = 3000 * np.sin(2 * np.pi * 1240 * np.arange(3 * SPEECH_RATE) / SPEECH_RATE)
    motor = (hum_at + room(300, 3)).astype(np.int16)
    assert find_tone(motor[SPEECH_RATE:], RING, motor[:SPEECH_RATE]) is None


def test_too_short_a_sound_has_none() -> None:
    assert find_tone(RING[:-1], RING, room(0, 1)) is None
