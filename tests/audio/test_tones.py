"""Tones against MIL-STD-1472E 5.3.4 (scanned pages 45-48): 500-3,000 Hz, half a second, different."""

from typing import Any, get_args

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.audio.tones import SCORES, TONE_RATE, tone
from assistant.batch.record.announcements import Tone
from assistant.ports import Pcm, Sound

RINGS = ["ring", "ring_firm"]


def spectrum(sound: Sound) -> tuple[NDArray[np.floating[Any]], NDArray[np.floating[Any]]]:
    """Frequencies (Hz) and power."""
    power: NDArray[np.floating[Any]] = (
        np.abs(np.fft.rfft(sound.pcm * np.hanning(len(sound.pcm)), 1 << 16)) ** 2
    )
    frequency: NDArray[np.floating[Any]] = np.fft.rfftfreq(1 << 16, 1 / sound.rate)
    return frequency, power


def test_every_tone_of_an_announcement_has_a_sound() -> None:
    assert set(SCORES) == set(get_args(Tone))


@pytest.mark.parametrize("kind", SCORES)
def test_the_energy_is_between_500_and_3000_hz(kind: str) -> None:
    frequency, power = spectrum(tone(kind))
    inside = (frequency >= 500) & (frequency <= 3_000)
    assert power[inside].sum() > 0.999 * power.sum()


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("taken", [880, 1760]),
        ("question", [660, 990, 1320, 1980]),
        ("ring", [930, 1240, 1395, 1860]),
        ("ring_firm", [930, 1240, 1395, 1860]),
    ],
)
@pytest.mark.parametrize("rate", [TONE_RATE, 48_000])
def test_the_partials_are_where_the_score_puts_them(kind: str, expected: list[int], rate: int) -> None:
    frequency, power = spectrum(tone(kind, rate))
    for hertz in expected:
        near = (frequency > hertz - 60) & (frequency < hertz + 60)
        assert power[near].max() > 0.02 * power.max()
        assert abs(frequency[near][power[near].argmax()] - hertz) < 25


@pytest.mark.parametrize("kind", RINGS)
def test_a_ring_lasts_half_a_second_or_more(kind: str) -> None:
    assert 0.5 <= tone(kind).seconds <= 1.1


def test_an_entry_is_answered_briefly() -> None:
    assert tone("taken").seconds <= 0.1
    assert tone("question").seconds <= 0.4


def test_all_differ_within_their_first_half_second() -> None:
    starts = []
    for kind in SCORES:
        pcm = tone(kind).pcm[: TONE_RATE // 2].astype(float)
        starts.append(np.fft.rfft(pcm / np.linalg.norm(pcm), 1 << 15))
    for number, one in enumerate(starts):
        for other in starts[:number]:
            likeness = np.fft.irfft(one * np.conj(other))
            assert np.abs(likeness).max() < 0.8


@pytest.mark.parametrize("kind", SCORES)
def test_there_is_no_click(kind: str) -> None:
    """A click is a step that no sound below 3,000 Hz of that size can make."""
    pcm: Pcm = tone(kind).pcm
    wave = np.concatenate([[0.0], pcm.astype(float), [0.0]])
    steepest = 2 * np.pi * 2_480 / TONE_RATE * np.abs(wave).max()
    assert np.abs(np.diff(wave)).max() < steepest
    assert np.abs(wave[1:10]).max() < 0.02 * np.abs(wave).max()
    assert np.abs(wave[-10:]).max() < 0.02 * np.abs(wave).max()
    assert np.abs(wave).max() < 0.7 * 32_768


def test_more_urgent_means_more_strokes_in_the_same_time() -> None:
    def strokes(kind: str) -> int:
        loud = (
            np.convolve(
                np.abs(tone(kind).pcm[: TONE_RATE * 8 // 10].astype(float)), np.ones(220) / 220, "same"
            )
            > 1_500
        )
        return int(np.count_nonzero(np.diff(loud.astype(int)) == 1))

    assert strokes("ring") < strokes("ring_firm")


def test_a_tone_is_made_once_and_cannot_be_spoilt() -> None:
    assert tone("taken") is tone("taken")
    with pytest.raises(ValueError, match="read-only"):
        tone("taken").pcm[0] = 1
