"""The network in matrix products against the library that the weights come from."""

import math
from pathlib import Path

import hama.asr
import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.asr.conformer import Conformer, _gelu
from assistant.asr.network import _SHIPPED, PhonemeNetwork, Weights
from assistant.asr.weight_file import read
from assistant.ports import SPEECH_RATE, Sound
from tests.asr.speech import espeak

PROBABILITY = 0.005
"""How far a probability may be from the library's, whose own products are rounded otherwise."""


def by_the_library(path: Path, waveform: NDArray[np.float32]) -> NDArray[np.float32]:
    """Log-probabilities, shape (frames, symbols)."""
    session = hama.asr.ASRModel(model_path=path).session
    feeds = {"waveform": waveform[np.newaxis], "waveform_lengths": np.array([len(waveform)])}
    found, lengths = session.run(["log_probs", "out_lengths"], feeds)
    return np.asarray(found[0, : int(lengths[0])], dtype=np.float32)


@pytest.mark.parametrize("weights", ["kitchen", "packaged"])
@pytest.mark.parametrize("text", ["water one fifty", "new batch eighteen hundred of the spinach"])
def test_it_is_what_the_library_computes(weights: Weights, text: str) -> None:
    network = PhonemeNetwork(weights=weights)
    sound = espeak(text)
    theirs = by_the_library(_SHIPPED[weights].path(), network.waveform(sound))

    ours = network.log_probs(sound)

    assert ours.shape == theirs.shape
    assert np.abs(np.exp(ours) - np.exp(theirs)).max() < PROBABILITY
    likely = theirs > np.log(0.01)
    assert np.abs(ours - theirs)[likely].max() < 0.05
    assert ours.argmax(axis=1).tolist() == theirs.argmax(axis=1).tolist()


@pytest.mark.parametrize("n", [321, 480, 1000, 4801, 16_000])
def test_it_has_as_many_frames_as_the_library(n: int) -> None:
    network = PhonemeNetwork()
    sound = Sound((1000 * np.sin(np.arange(n))).astype(np.int16))

    theirs = by_the_library(_SHIPPED["kitchen"].path(), network.waveform(sound))

    assert network.log_probs(sound).shape == theirs.shape


def test_gelu_is_the_exact_one() -> None:
    """Hendrycks and Gimpel 2016: x Phi(x)."""
    x = np.linspace(-6, 6, 1001).astype(np.float32)
    exact = [value * 0.5 * (1 + math.erf(value / math.sqrt(2.0))) for value in x.tolist()]
    assert _gelu(x) == pytest.approx(np.array(exact), abs=2e-6)


def test_loud_and_silent_sound_give_numbers() -> None:
    conformer = Conformer(read(_SHIPPED["packaged"].path().read_bytes()))
    for waveform in (np.zeros(SPEECH_RATE, np.float32), np.ones(SPEECH_RATE, np.float32) * 100):
        assert np.isfinite(conformer.log_probs(waveform)).all()


def test_weights_of_another_architecture_are_refused() -> None:
    tensors = read(_SHIPPED["packaged"].path().read_bytes())
    with pytest.raises(KeyError):
        Conformer({name: value for name, value in tensors.items() if name != "mel_fb"})
    with pytest.raises(ValueError, match="another architecture"):
        Conformer({**tensors, "mel_fb": tensors["mel_fb"][:100]})
