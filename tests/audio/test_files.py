"""Sound files as the world writes them: rates, channels, sample formats, containers, and what is none."""

import re
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.audio.files import read_sound, sound_blocks
from assistant.errors import SoundError
from assistant.ports import SPEECH_RATE, Pcm, Sound
from tests.wav import write_wav

SECONDS = 0.5


def tone(rate: int, hertz: float = 1000.0) -> Pcm:
    pcm: Pcm = np.rint(16_000 * np.sin(2 * np.pi * hertz * np.arange(int(SECONDS * rate)) / rate)).astype(
        np.int16
    )
    return pcm


def strength(pcm: Pcm, hertz: float) -> float:
    """Amplitude of one frequency, by correlation with it (the definition of a Fourier coefficient)."""
    middle = pcm[800:-800].astype(np.float64)
    turn = np.exp(-2j * np.pi * hertz * np.arange(len(middle)) / SPEECH_RATE)
    return float(2 * np.abs(np.mean(middle * turn)))


@pytest.mark.parametrize("extension", ["wav", "flac"])
def test_16_bit_at_our_rate_comes_sample_for_sample(tmp_path: Path, extension: str) -> None:
    pcm = np.random.default_rng(0).integers(-32768, 32768, 5000).astype(np.int16)
    path = tmp_path / f"a.{extension}"
    soundfile.write(path, pcm, SPEECH_RATE)

    sound = read_sound(path)

    assert sound.rate == SPEECH_RATE
    assert np.array_equal(sound.pcm, pcm)


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 44_100, 48_000, 96_000])
def test_other_rates_keep_length_pitch_and_level(tmp_path: Path, rate: int) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(rate), rate)

    pcm = read_sound(path).pcm

    assert len(pcm) == pytest.approx(SECONDS * SPEECH_RATE, abs=2)
    assert strength(pcm, 1000.0) == pytest.approx(16_000, rel=0.01)


def test_what_16_khz_can_not_hold_does_not_come_back_as_another_tone(tmp_path: Path) -> None:
    """10 kHz sampled at 16 kHz without a filter would fold to 6 kHz (Nyquist)."""
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(48_000, 10_000.0), 48_000)

    assert strength(read_sound(path).pcm, 6000.0) < 16


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_24", "PCM_32", "FLOAT", "DOUBLE", "ULAW"])
def test_other_sample_formats_have_the_same_level(tmp_path: Path, subtype: str) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(SPEECH_RATE).astype(np.float64) / 32768, SPEECH_RATE, subtype=subtype)

    assert strength(read_sound(path).pcm, 1000.0) == pytest.approx(16_000, rel=0.03)


def test_channels_are_averaged(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(
        path, np.stack([np.full(100, 3000), np.full(100, -1000)], axis=1).astype(np.int16), SPEECH_RATE
    )

    assert read_sound(path).pcm.tolist() == [1000] * 100


def test_float_files_beyond_full_scale_are_limited_and_nan_is_silence(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, np.array([2.0, -2.0, np.nan, 0.5]), SPEECH_RATE, subtype="FLOAT")

    assert read_sound(path).pcm.tolist() == [32767, -32768, 0, 16384]


def test_blocks_put_together_are_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    pcm = np.random.default_rng(0).integers(-3000, 3000, 3 * 65_536 + 17).astype(np.int16)
    soundfile.write(path, pcm, SPEECH_RATE)

    blocks = list(sound_blocks(path))

    assert len(blocks) > 3
    assert np.array_equal(np.concatenate(blocks), pcm)


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (None, "There is no file {path}; give a WAV or FLAC file."),
        (b"", "{path} can't be read as sound (Format not recognised); give a WAV or FLAC file."),
        (
            b"ID3 not really",
            "{path} can't be read as sound (Format not recognised); give a WAV or FLAC file.",
        ),
    ],
)
def test_what_is_not_sound_is_refused_in_one_line(tmp_path: Path, content: bytes | None, line: str) -> None:
    path = tmp_path / "a.wav"
    if content is not None:
        path.write_bytes(content)

    with pytest.raises(SoundError, match=f"^{re.escape(line.format(path=path))}$"):
        read_sound(path)


def test_a_folder_is_reported(tmp_path: Path) -> None:
    with pytest.raises(SoundError, match="is a folder; give a WAV or FLAC file"):
        read_sound(tmp_path)


def test_a_file_without_samples_is_reported(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    write_wav(path, Sound(np.zeros(0, dtype=np.int16)))

    with pytest.raises(SoundError, match="holds no sound; give a recording of speech"):
        read_sound(path)
