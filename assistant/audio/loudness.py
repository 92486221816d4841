"""Louder and softer without clipping."""

import numpy as np
from numpy.typing import NDArray

from assistant.errors import SoundError
from assistant.ports import Pcm

Wave = NDArray[np.float32]

LOUDEST = 4.0
"""Most by which a volume may amplify."""
FADE_S = 0.005
"""Length of the fade where sound is cut off: a hard cut would click."""
_KNEE = 0.7
"""Share of full scale up to which amplified sound stays linear."""


def amplify(pcm: Pcm, volume: float) -> Pcm:
    """Louder or softer (times `volume`) without clipping; softer or 1.0 is exact."""
    wave = pcm.astype(np.float32) * np.float32(volume / 32768)
    return as_pcm(limit(wave) if volume > 1 else wave)


def limit(wave: Wave) -> Wave:
    """Linear up to 0.7 of full scale (1.0), above it a knee that never reaches the end."""
    size = np.abs(wave)
    over = np.maximum(size - _KNEE, 0) / (1 - _KNEE)
    bent = _KNEE + (1 - _KNEE) * over / (1 + over)
    return np.where(size > _KNEE, np.copysign(bent, wave), wave)


def as_pcm(wave: Wave) -> Pcm:
    """Samples within -1.0 to 1.0 as int16."""
    return np.clip(np.round(wave * 32768), -32768, 32767).astype(np.int16)


def checked_volume(volume: float) -> float:
    """The volume itself. Raises SoundError for one that a speaker can't have."""
    if not 0 <= volume <= LOUDEST:
        raise SoundError(f"volume {volume:g} is not between 0 and {LOUDEST:g}; 1 plays the voice as it is")
    return volume
