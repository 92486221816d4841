"""How loud the room is, and how far speech is above it."""

import math
from collections import deque

import numpy as np

from assistant.ports import SPEECH_RATE, Pcm

FULL_SCALE = 32768.0
SILENCE_DBFS = -96.0
"""Level of nothing: below the smallest step of 16 bits."""


def level_dbfs(pcm: Pcm) -> float:
    """RMS level in dB against full scale, a full-scale square wave being 0; `SILENCE_DBFS` at least."""
    if not len(pcm):
        return SILENCE_DBFS
    mean_square = float(np.mean(np.square(pcm.astype(np.float64)))) / FULL_SCALE**2
    return max(SILENCE_DBFS, 10 * math.log10(mean_square)) if mean_square > 0 else SILENCE_DBFS


class NoiseLevel:
    """Running level of the room (dBFS): a low quantile of the last seconds, so that speech hardly counts.

    `window_s`: how much of the past counts. `share`: the quantile; at 0.2 a fifth of it was quieter.
    Blocks of exact zeros are a closed gate or a dead device, not a quiet room: they don't count.
    """

    def __init__(self, window_s: float = 10.0, share: float = 0.2, frame_s: float = 0.032) -> None:
        self._frame = round(frame_s * SPEECH_RATE)
        self._levels: deque[float] = deque(maxlen=max(1, round(window_s / frame_s)))
        self._share = share
        self._rest: Pcm = np.zeros(0, dtype=np.int16)

    def feed(self, block: Pcm) -> None:
        """Take the next block, any length, at `SPEECH_RATE`."""
        sound = np.concatenate([self._rest, block])
        whole = len(sound) // self._frame * self._frame
        self._rest = sound[whole:]
        self._levels.extend(
            level_dbfs(frame) for frame in sound[:whole].reshape(-1, self._frame) if frame.any()
        )

    @property
    def dbfs(self) -> float:
        """Level now; `SILENCE_DBFS` before anything was heard."""
        return float(np.quantile(self._levels, self._share)) if self._levels else SILENCE_DBFS


STANDS_OUT_DB = 3.0
"""Frames this much louder than the noise hold speech (dB)."""


def speech_dbfs(utterance: Pcm, noise_dbfs: float, frame_s: float = 0.032) -> float:
    """Level of the speech in an utterance (dBFS): of the frames that stand out of the noise, less its power.

    `SILENCE_DBFS` where none does.
    """
    frame = round(frame_s * SPEECH_RATE)
    frames = utterance[: len(utterance) // frame * frame].reshape(-1, frame).astype(np.float64)
    power = np.mean(np.square(frames), axis=1) / FULL_SCALE**2
    noise = 10 ** (noise_dbfs / 10)
    speech = power[power > noise * 10 ** (STANDS_OUT_DB / 10)]
    return max(SILENCE_DBFS, 10 * math.log10(float(speech.mean()) - noise)) if len(speech) else SILENCE_DBFS


def own_snr_db(utterance: Pcm) -> float | None:
    """How far the speech of one utterance is above the quiet around it (dB); None without any sound.

    The noise is the level that a fifth of it is below; the silence that pads an utterance does not count.
    Negative where nothing stands out.
    """
    noise = NoiseLevel()
    noise.feed(utterance)
    return None if noise.dbfs <= SILENCE_DBFS else speech_dbfs(utterance, noise.dbfs) - noise.dbfs
