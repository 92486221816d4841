"""Our own short tones: entry taken, question open, timer ringing in two urgencies.

Tones differ by three shapes, taken, question and ring; a ring's urgency is its pace. MIL-STD-1472E
5.3.4: components within 500-3,000 Hz, an alarm lasts 0.5 s or more and differs from the others in its first
0.5 s, four kinds or fewer where each must be recognised without comparison.
"""

from dataclasses import dataclass
from enum import Enum
from functools import cache

import numpy as np

from assistant.ports import Pcm, Sound

TONE_RATE = 22_050
_EDGE_S = 0.012
_PEAK = 0.6


class Tone(Enum):
    """What a tone means."""

    TAKEN = "taken"
    QUESTION = "question"
    RING_GENTLE = "ring gentle"
    RING_FIRM = "ring firm"


@dataclass(frozen=True, slots=True)
class _Note:
    """A strong partial and one of half its strength."""

    low: float
    """Frequency of the strong one (Hz); 0 is silence."""
    high: float
    """Frequency of the other (Hz)."""
    seconds: float


_SCORES: dict[Tone, tuple[_Note, ...]] = {
    Tone.TAKEN: (_Note(880, 1760, 0.09),),
    Tone.QUESTION: (_Note(660, 1320, 0.12), _Note(990, 1980, 0.20)),
    Tone.RING_GENTLE: (_Note(1240, 1860, 0.30), _Note(0, 0, 0.12), _Note(930, 1395, 0.45)),
    Tone.RING_FIRM: (_Note(1240, 1860, 0.16), _Note(0, 0, 0.05), _Note(930, 1395, 0.16), _Note(0, 0, 0.05))
    * 2,
}


@cache
def tone(kind: Tone, rate: int = TONE_RATE) -> Sound:
    """The sound of a tone at `rate` Hz; the same object each time, not to be written to."""
    pcm = np.concatenate([_sound(note, rate) for note in _SCORES[kind]])
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
