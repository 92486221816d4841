"""The adapter of the phoneme network, and the loader that looks before it trusts."""

import re
from pathlib import Path
from typing import get_args

import hama.asr
import numpy as np
import pytest

from assistant.asr.network import _SHIPPED, FRAME, PhonemeNetwork, Weights
from assistant.errors import ModelError
from assistant.ports import Sound
from tests.asr.speech import espeak

WEIGHTS = Path(hama.asr.__file__).parent / "assets" / "asr_waveform.hama"


@pytest.fixture(scope="module")
def network() -> PhonemeNetwork:
    return PhonemeNetwork(weights="packaged")


@pytest.fixture(scope="module")
def fine_tuned() -> PhonemeNetwork:
    return PhonemeNetwork()


def test_the_fine_tuned_network_writes_in_the_same_symbols(
    network: PhonemeNetwork, fine_tuned: PhonemeNetwork
) -> None:
    assert fine_tuned.symbols == network.symbols
    assert (fine_tuned.blank, fine_tuned.boundary) == (network.blank, network.boundary)
    sound = espeak("water one fifty")
    assert not np.array_equal(fine_tuned.log_probs(sound), network.log_probs(sound))


def test_every_name_of_weights_has_its_file() -> None:
    assert set(_SHIPPED) == set(get_args(Weights))
    assert all(shipped.path().is_file() for shipped in _SHIPPED.values())


def test_frames_are_log_probabilities_of_all_symbols(network: PhonemeNetwork) -> None:
    log_probs = network.log_probs(espeak("water one fifty"))

    assert log_probs.shape[1] == len(network.symbols) == 191
    assert np.exp(log_probs).sum(axis=1) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("seconds", [0.5, 1.0, 2.0])
def test_there_are_fifty_frames_a_second(network: PhonemeNetwork, seconds: float) -> None:
    frames = len(network.log_probs(Sound(np.zeros(int(seconds * 16_000), dtype=np.int16))))

    assert frames * FRAME / 16_000 == pytest.approx(seconds, abs=0.03)


def test_the_best_path_is_what_the_library_itself_decodes(network: PhonemeNetwork) -> None:
    """Its own greedy decoder with its biases off, on the same sound."""
    sound = espeak("crumb ready")
    plain = hama.asr.ASRDecodeConfig(temperature=1.0, blank_bias=0.0)
    theirs = hama.asr.ASRModel(decode=plain).transcribe_waveform(network.waveform(sound), sound.rate)

    assert network.log_probs(sound).argmax(axis=1).tolist() == theirs.frame_token_ids


def test_noise_is_forty_decibels_below_the_voice_and_never_less_than_four_steps(
    network: PhonemeNetwork,
) -> None:
    voice = (10_000 * np.sin(2 * np.pi * 440 * np.arange(16_000) / 16_000)).astype(np.int16)
    sound = Sound(np.concatenate([voice, np.zeros(16_000, np.int16)]))

    under = network.waveform(sound)[16_000:] * 32768
    least = network.waveform(Sound(np.zeros(16_000, np.int16))) * 32768

    # RMS of a sine is its amplitude over the root of two
    assert under.std() == pytest.approx(10_000 / 2**0.5 / 100, rel=0.03)
    assert least.std() == pytest.approx(4.0, rel=0.03)


def test_almost_no_sound_is_no_error(network: PhonemeNetwork) -> None:
    assert network.log_probs(Sound(np.zeros(0, dtype=np.int16))).shape[1] == 191
    assert network.log_probs(Sound(np.zeros(7, dtype=np.int16))).shape[1] == 191


def test_sound_at_another_rate_is_our_mistake(network: PhonemeNetwork) -> None:
    with pytest.raises(ValueError, match="8000 Hz"):
        network.log_probs(Sound(np.zeros(100, dtype=np.int16), 8000))


def test_weights_of_ones_own_can_be_used(network: PhonemeNetwork, tmp_path: Path) -> None:
    copy = tmp_path / "mine.hama"
    copy.write_bytes(WEIGHTS.read_bytes())
    sound = espeak("undo")

    assert np.array_equal(PhonemeNetwork(copy).log_probs(sound), network.log_probs(sound))


def test_a_file_that_is_not_weights_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "mine.hama"
    line = (
        f"The phoneme network {path} can't be read (No such file or directory); "
        "give a .hama file or leave the setting out."
    )
    with pytest.raises(ModelError, match=f"^{re.escape(line)}$"):
        PhonemeNetwork(path)

    path.write_bytes(b"something else")
    with pytest.raises(
        ModelError,
        match=r"mine\.hama is not a phoneme network; give a \.hama file or leave the setting out\.",
    ):
        PhonemeNetwork(path)


def test_weights_of_the_library_that_were_changed_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "assets").mkdir()
    changed = bytearray(WEIGHTS.read_bytes())
    changed[-1] ^= 1
    (tmp_path / "assets" / "asr_waveform.hama").write_bytes(changed)
    monkeypatch.setattr(hama.asr, "__file__", str(tmp_path / "asr.py"))

    with pytest.raises(ModelError, match=r"is damaged or of another version; run hardware/setup\.sh again\."):
        PhonemeNetwork(weights="packaged")
