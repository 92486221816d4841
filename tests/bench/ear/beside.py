"""Quiet, and beside the recorded machines of a part, at a ratio to the voice."""

from collections.abc import Sequence
from pathlib import Path

from assistant.ports import SPEECH_RATE, Pcm
from tests.bench.hearing.sentences import Part
from tests.bench.hearing.sounds import AFTER_S, BEFORE_S, RECORDED, Noise, mixed, noises

Snr = int | None
"""dB of the voice over the noise; None: quiet."""
THREE: tuple[Snr, ...] = (None, 10, 5)
TWO: tuple[Snr, ...] = (None, 10)


def label(snr: Snr) -> str:
    """Its name in the tables."""
    return "quiet" if snr is None else f"{snr} dB"


def machines(part: Part, speech: Path) -> list[Noise]:
    """The recorded noises of a part: no network is taught with those of `test`."""
    return [noise for noise in noises(part, speech) if noise.name in RECORDED[part]]


def among(pcm: Pcm, snr: Snr, around: Sequence[Noise], seed: int) -> Pcm:
    """A voice between stretches of one of the noises, which one by its seed; in quiet a faint hiss."""
    if snr is None:
        return mixed(pcm, None, 99.0, seed)
    return mixed(pcm, around[seed % len(around)], snr, seed)


def cut(clip: Pcm) -> Pcm:
    """The same with no more around the voice than the endpointer leaves, for `pcm` from `people.voiced`."""
    begin, end = round(BEFORE_S * SPEECH_RATE), round(AFTER_S * SPEECH_RATE)
    return clip[begin : len(clip) - end]
