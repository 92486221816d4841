"""Our own short tones: entry taken, question open, timer ringing in two urgencies.

Tones differ by three shapes, taken, question and ring; a ring's urgency is its pace. MIL-STD-1472E
5.3.4: components within 500-3,000 Hz, an alarm lasts 0.5 s or more and differs from the others in its first
0.5 s, four kinds or fewer where each must be recognised without comparison.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from assistant.ports import Pcm, Sound

TONE_RATE = 22_050
_EDGE_S = 0.012
_PEAK = 0.6


@dataclass(frozen=True, slots=True)
class _Note:
    """A strong partial and one of half its strength."""

    low: float
    """Frequency of the strong one (Hz); 0 is silence."""
    high: float
    """Frequency of the other (Hz)."""
    seconds: float


SCORES: dict[str, tuple[_Note, ...]] = {
    "taken": (_Note(880, 1760, 0.09),),
    "question": (_Note(660, 1320, 0.12), _Note(990, 1980, 0.20)),
    "ring": (_Note(1240, 1860, 0.30), _Note(0, 0, 0.12), _Note(930, 1395, 0.45)),
    "ring_firm": (_Note(1240, 1860, 0.16), _Note(0, 0, 0.05), _Note(930, 1395, 0.16), _Note(0, 0, 0.05)) * 2,
}
"""Name of a tone, as announcements have it -> how it sounds."""


@cache
def tone(name: str, rate: int = TONE_RATE) -> Sound:
    """The sound of a tone of `SCORES` at `rate` Hz; the same object each time, not to be written to."""
    pcm = np.concatenate([_sound(note, rate) for note in SCORES[name]])
    pcm.flags.writeable = False
    return Sound(pcm, rate)


def _sound(note: _Note, rate: int) -> Pcm:
    time = np.arange(round(note.seconds * rate)) / rate
    if not note.low:
        return np.zeros(len(time), np.int16)
    wave = (2 * np.sin(2 * np.pi * note.low * time) + np.sin(2 * np.pi * note.high * time)) / 3
    edge = 0.5 - 0.5 * np.cos(np.pi * np.arange(round(_EDGE_S * rate)) / round(_EDGE_S * rate))
    wave[: len(edge)] *= edge
    wave[len(wave) - len(edge) :] *= edge[::-1]
    return np.round(wave * _PEAK * 32767).astype(np.int16)
