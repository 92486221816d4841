"""Levels against sines and noise whose level is known by definition."""

import numpy as np
import pytest

from assistant.hearing.level import SILENCE_DBFS, NoiseLevel, level_dbfs, speech_dbfs
from assistant.ports import SPEECH_RATE, Pcm
from tests.asr.speech import white_noise


def sine(seconds: float, amplitude: float, hertz: float = 440.0) -> Pcm:
    time = np.arange(int(seconds * SPEECH_RATE)) / SPEECH_RATE
    pcm: Pcm = np.rint(amplitude * np.sin(2 * np.pi * hertz * time)).astype(np.int16)
    return pcm


@pytest.mark.parametrize("amplitude", [32767, 3276.7, 327.67])
def test_a_sine_lies_3_db_below_its_peak(amplitude: float) -> None:
    """RMS of a sine is its peak over the square root of 2: 3.01 dB."""
    assert level_dbfs(sine(1, amplitude)) == pytest.approx(
        20 * np.log10(amplitude / 32768) - 3.0103, abs=0.02
    )


def test_nothing_has_a_level_too() -> None:
    assert level_dbfs(np.zeros(0, dtype=np.int16)) == SILENCE_DBFS
    assert level_dbfs(np.zeros(100, dtype=np.int16)) == SILENCE_DBFS
    assert NoiseLevel().dbfs == SILENCE_DBFS


def test_speech_in_between_hardly_moves_the_level_of_the_room() -> None:
    level = NoiseLevel()
    level.feed(white_noise(3, -50))
    quiet = level.dbfs

    level.feed(sine(2, 8000))
    level.feed(white_noise(1, -50, seed=1))

    assert quiet == pytest.approx(-50, abs=0.6)
    assert level.dbfs == pytest.approx(quiet, abs=0.6)


def test_the_level_follows_when_a_machine_starts() -> None:
    level = NoiseLevel(window_s=2.0)
    level.feed(white_noise(2, -60))
    level.feed(white_noise(2, -30, seed=1))

    assert level.dbfs == pytest.approx(-30, abs=0.6)


def test_a_closed_gate_is_no_quiet_room() -> None:
    level = NoiseLevel()
    level.feed(white_noise(1, -40))
    before = level.dbfs

    level.feed(np.zeros(5 * SPEECH_RATE, dtype=np.int16))

    assert level.dbfs == pytest.approx(before, abs=0.1)


def test_blocks_of_any_length_give_the_same_level() -> None:
    noise = white_noise(1, -45)
    whole, pieces = NoiseLevel(), NoiseLevel()
    whole.feed(noise)
    for start in range(0, len(noise), 333):
        pieces.feed(noise[start : start + 333])

    assert pieces.dbfs == whole.dbfs


@pytest.mark.parametrize("snr", [20.0, 10.0, 5.0])
def test_snr_is_what_was_mixed(snr: float) -> None:
    noise_dbfs = -40.0
    tone = sine(2, 32768 * 10 ** ((noise_dbfs + snr) / 20) * np.sqrt(2))
    heard = tone + white_noise(2, noise_dbfs)

    assert speech_dbfs(heard.astype(np.int16), noise_dbfs) - noise_dbfs == pytest.approx(snr, abs=0.3)


def test_what_does_not_stand_out_is_silence() -> None:
    assert speech_dbfs(white_noise(1, -50), -40.0) == SILENCE_DBFS
