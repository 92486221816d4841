"""Who speaks around the cook, softer: the frames before and after the loud part of an utterance. Pure.

In a room full of voices the end of speech is not found: an utterance then holds the command and a second or
two of others. The frames outside its loud part may be left unexplained, at no cost.
"""

import numpy as np
from numpy.typing import NDArray

from assistant.asr.network import FRAME
from assistant.ports import Pcm

SOFTER_DB = 7.0
"""What is this far below the loud part (its 95th percentile) is softer.

Of 15 commands in voices 10 dB below that were refused, 6 to 8 dB bring back 6 to 8, and none of 160 sentences
of talk (voices of the tuning part of `tests/bench/hearing`).
"""
SMOOTH, GUARD = 9, 10
"""Frames over which the level is averaged, and frames kept on either side: a weak last syllable is part of
the word."""


def frame_levels_db(pcm: Pcm, n_frames: int) -> NDArray[np.float64]:
    """Level of every frame of the network, smoothed, dB of an arbitrary zero; shape (n_frames,)."""
    if n_frames == 0:
        return np.zeros(0)
    whole = np.zeros(n_frames * FRAME)
    used = min(len(pcm), len(whole))
    whole[:used] = pcm[:used]
    power = np.square(whole).reshape(n_frames, FRAME).mean(axis=1) + 1.0
    smooth = np.convolve(power, np.ones(SMOOTH) / SMOOTH)[SMOOTH // 2 :][:n_frames]
    return np.asarray(10 * np.log10(smooth))


def around_the_loud(levels_db: NDArray[np.float64]) -> NDArray[np.bool_]:
    """True for the frames before the first and after the last loud one; shape as given."""
    around = np.ones(len(levels_db), dtype=np.bool_)
    if len(levels_db) == 0:
        return around
    loud = np.flatnonzero(levels_db >= np.percentile(levels_db, 95) - SOFTER_DB)
    around[max(0, loud[0] - GUARD) : loud[-1] + 1 + GUARD] = False
    return around
