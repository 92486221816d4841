"""A mixer's motor, synthesised: hum with harmonics that swells with each turn, and broadband noise."""

import numpy as np

from assistant.ports import SPEECH_RATE, Pcm

HUM_HZ = 98.0
"""Fundamental of the hum: about twice the slip speed of a four-pole motor at 50 Hz."""
TURN_HZ = 1.6
"""Turns of the mixing shaft, at which the load swells."""


def motor(n: int, *, level_dbfs: float, seed: int, start: int = 0) -> Pcm:
    """`n` samples at `SPEECH_RATE` Hz, RMS at `level_dbfs`.

    `start` continues the hum's phase at that sample.
    """
    rng = np.random.default_rng((seed, start))
    t = (np.arange(n) + start) / SPEECH_RATE
    hum = sum(np.sin(2 * np.pi * HUM_HZ * k * t + k) / k for k in range(1, 13))
    white = rng.standard_normal(n + 1)
    broad = white[1:] + 0.9 * white[:-1]  # tilted down towards high frequencies, as a housing's noise is
    wave = hum * (1.0 + 0.3 * np.sin(2 * np.pi * TURN_HZ * t)) + 0.35 * broad
    rms = float(np.sqrt(np.mean(np.square(wave)))) if n else 1.0
    scaled = wave * (10 ** (level_dbfs / 20) * 32768 / max(rms, 1e-9))
    pcm: Pcm = np.clip(np.rint(scaled), -32768, 32767).astype(np.int16)
    return pcm
