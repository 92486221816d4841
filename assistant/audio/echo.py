"""Where a known tone is in what the microphone heard: the way from the speaker through the room. Pure."""

import numpy as np
from numpy.typing import NDArray

from assistant.ports import Pcm

SHARE = 0.1
"""Least share of a tone in what is heard during it (correlation); noise and talk reached 0.03 at most."""
STANDS_OUT = 2.0
"""Least ratio of its match to that of the room before it: a motor may hum near its pitch."""
LEAST = 0.5
"""Least match, in steps of the converter: without it zeros would match."""


def find_tone(heard: Pcm, tone: Pcm, before: Pcm) -> int | None:
    """Sample of `heard` at which `tone` begins; None where it is not in it.

    All int16 at one rate; `before` is the room without the tone, as long as the tone at least.
    """
    if min(len(heard), len(before)) < len(tone):
        return None
    after, room = _match(heard, tone), _match(before, tone)
    best = int(np.argmax(after))
    there = np.square(heard[best : best + len(tone)].astype(np.float64))
    least = max(LEAST, STANDS_OUT * float(room.max()), SHARE * float(np.sqrt(there.mean())))
    return best if after[best] >= least else None


def _match(sound: Pcm, tone: Pcm) -> NDArray[np.float64]:
    """How much of the tone is in the sound from each sample on, in the sound's own steps (matched filter)."""
    wanted = tone.astype(np.float64)
    wanted /= np.sqrt(np.sum(np.square(wanted))) * np.sqrt(len(wanted))
    size = len(sound) + len(wanted)
    whole = np.fft.irfft(np.fft.rfft(sound, size) * np.conj(np.fft.rfft(wanted, size)), size)
    return np.abs(whole[: len(sound) - len(wanted) + 1])
