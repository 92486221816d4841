"""Sound to test recognisers with: voices of the speech synthesisers that are installed, and noise."""

import functools
import io
import shutil
import subprocess

import numpy as np
import pytest
import soundfile

from assistant.audio.resample import resample
from assistant.ports import SPEECH_RATE, Pcm, Sound

QUIET_S = 0.3


@functools.cache
def espeak(text: str, voice: str = "en-us", words_per_minute: int = 150) -> Sound:
    """espeak-ng saying a text, with some quiet around it; skips the test where it is not installed.

    A process of its own: within one, espeak-ng says the same a little differently each time.
    """
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    command = ["espeak-ng", "-v", voice, "-s", str(words_per_minute), "--stdout", text]
    spoken = subprocess.run(command, capture_output=True, check=True).stdout
    pcm, rate = soundfile.read(io.BytesIO(spoken), dtype="int16")
    quiet: Pcm = np.zeros(int(QUIET_S * SPEECH_RATE), dtype=np.int16)
    return Sound(np.concatenate([quiet, resample(Sound(pcm, rate), SPEECH_RATE).pcm, quiet]))


def white_noise(seconds: float, level_dbfs: float, seed: int = 0) -> Pcm:
    """Gaussian noise of a level, against a full scale of 32768."""
    noise = np.random.default_rng(seed).normal(size=int(seconds * SPEECH_RATE))
    pcm: Pcm = np.clip(noise * 32768 * 10 ** (level_dbfs / 20), -32768, 32767).astype(np.int16)
    return pcm
