"""The kitchen around the voice: noises, rooms, and mixing at a ratio to the active speech level.

Noises and rooms are disjoint between the parts. Recorded ones come from the folder of real recordings.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.audio.files import read_sound
from assistant.audio.motor import motor
from assistant.ports import SPEECH_RATE, Pcm
from tests.bench.finetune.sound.conditions import TEST_NOISES
from tests.bench.hearing.sentences import Part

Wave = NDArray[np.float64]
SPEECH_DBFS = -26.0
"""Active speech level of every clip: usual for test signals (ITU-T P.56 and P.800 series, from memory)."""
BEFORE_S, AFTER_S = 1.0, 1.2

RECORDED: dict[Part, tuple[str, ...]] = {
    "tune": ("vending_machine", "fridge_kitchen", "air_conditioning", "computer_fan", "rain"),
    "test": TEST_NOISES,
}
"""No network was trained with those of the test part."""


@dataclass(frozen=True, eq=False)
class Noise:
    """A noise by name: `make(n, seed)` returns n samples."""

    name: str
    make: Callable[[int, int], Wave]


def noises(part: Part, speech: Path | None) -> list[Noise]:
    """Synthetic noises, and the recorded ones where there are any."""
    made = (
        [Noise("induction motor", _induction), Noise("pink", _pink)]
        if part == "tune"
        else [Noise("commutator motor", _commutator), Noise("dishes", _dishes)]
    )
    if speech is not None:
        made += [Noise(name, _recorded(speech / "noise" / f"{name}.flac")) for name in RECORDED[part]]
    return made


def _induction(n: int, seed: int) -> Wave:
    return motor(n, level_dbfs=-26.0, seed=seed).astype(np.float64)


def _commutator(n: int, seed: int) -> Wave:
    """A brushed motor under swelling load: a whine of 210 to 240 Hz, harmonics, gear teeth, brush noise."""
    rng = np.random.default_rng(seed)
    t = np.arange(n) / SPEECH_RATE
    phase = 2 * np.pi * np.cumsum(225 + 15 * np.sin(2 * np.pi * 0.7 * t + seed)) / SPEECH_RATE
    whine = sum(np.sin(k * phase + k * k) / k**0.7 for k in range(1, 18))
    gear = np.sin(6.3 * phase) * (1 + 0.5 * np.sin(2 * np.pi * 2.3 * t))
    return np.asarray(whine + gear + 1.2 * _coloured(rng, n, 0.3))


def _dishes(n: int, seed: int) -> Wave:
    """Plates: ringing clicks at chance moments over a rush of water."""
    rng = np.random.default_rng(seed)
    clicks = np.zeros(n)
    ring_n = SPEECH_RATE // 6
    t = np.arange(ring_n) / SPEECH_RATE
    for start in rng.integers(0, max(1, n - ring_n), max(1, round(4 * n / SPEECH_RATE))):
        tones = sum(np.sin(2 * np.pi * f * t) for f in rng.uniform(1200, 6500, 4))
        clicks[start : start + ring_n] += rng.uniform(0.3, 1.0) * tones * np.exp(-t / rng.uniform(0.01, 0.05))
    return clicks + 0.25 * _coloured(rng, n, 0.5)


def _pink(n: int, seed: int) -> Wave:
    return _coloured(np.random.default_rng(seed), n, 0.5)


def _coloured(rng: np.random.Generator, n: int, slope: float) -> Wave:
    """Noise whose amplitude falls as frequency to the power of `slope` (0.5: pink), RMS 1."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    frequency = np.maximum(np.fft.rfftfreq(n, 1 / SPEECH_RATE), 40.0)
    wave = np.fft.irfft(spectrum / frequency**slope, n)
    return np.asarray(wave / np.sqrt(np.mean(np.square(wave))))


def _recorded(path: Path) -> Callable[[int, int], Wave]:
    @lru_cache(maxsize=1)
    def whole() -> Wave:
        return read_sound(path).pcm.astype(np.float64)

    def make(n: int, seed: int) -> Wave:
        return np.asarray(np.resize(np.roll(whole(), -(seed * 7919) % len(whole())), n))

    return make


def rooms(part: Part, speech: Path | None) -> list[Wave]:
    """Room responses: the direct sound and a tail 6 dB below it, as with a microphone near the cook."""
    rt60 = (0.25, 0.5) if part == "tune" else (0.35, 0.6)
    tails = [_tail(seconds, 31 if part == "tune" else 32) for seconds in rt60]
    if speech is not None:
        name = "seminar_room_clap" if part == "tune" else "auditorium"
        response = read_sound(speech / "rir" / f"{name}.flac").pcm.astype(np.float64)
        tails.append(response[np.argmax(np.abs(response)) + 80 :])
    return [
        np.concatenate([[1.0], np.zeros(79), tail * (10 ** (-6 / 20) / np.sqrt(np.sum(tail**2)))])
        for tail in tails
    ]


def _tail(rt60: float, seed: int) -> Wave:
    n = round(rt60 * SPEECH_RATE)
    decay = 10 ** (-3 * np.arange(n) / n)
    return np.asarray(np.random.default_rng(seed).standard_normal(n) * decay)


def in_room(pcm: Pcm, room: Wave) -> Wave:
    """The sound in a room, tail included."""
    n = len(pcm) + len(room) - 1
    return np.asarray(np.fft.irfft(np.fft.rfft(pcm, n) * np.fft.rfft(room, n), n))


def active_power(wave: Wave) -> float:
    """Mean power while somebody speaks: 32 ms frames within 15.9 dB of their own mean (after ITU-T P.56)."""
    whole = wave[: max(512, len(wave) // 512 * 512)]
    power = np.mean(np.square(np.resize(whole, (max(1, len(whole) // 512), 512))), axis=1)
    active = power
    for _ in range(10):
        active = power[power >= active.mean() * 10 ** (-15.9 / 10)]
    return float(active.mean())


def mixed(speech: Pcm, noise: Noise | None, snr_db: float, seed: int, room: Wave | None = None) -> Pcm:
    """A clip at the level of test signals between stretches of the noise; without noise, a faint hiss."""
    said = speech.astype(np.float64) if room is None else in_room(speech, room)
    wanted = 10 ** (SPEECH_DBFS / 10) * 32768.0**2
    said *= np.sqrt(wanted / max(active_power(said), 1e-9))
    before, after = round(BEFORE_S * SPEECH_RATE), round(AFTER_S * SPEECH_RATE)
    clip = np.concatenate([np.zeros(before), said, np.zeros(after)])
    if noise is None:
        around, snr_db = np.random.default_rng(seed).standard_normal(len(clip)), 55.0
    else:
        around = noise.make(len(clip), seed)
    clip += around * np.sqrt(wanted / 10 ** (snr_db / 10) / max(float(np.mean(np.square(around))), 1e-9))
    pcm: Pcm = np.clip(np.rint(clip), -32768, 32767).astype(np.int16)
    return pcm
