"""The test part: voices, sentences and noises that nothing was trained with, each in quiet and in noise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from assistant.ports import WordGraph
from tests.bench.finetune.sound import noises, rooms
from tests.bench.finetune.speech import corpus, phrases
from tests.bench.finetune.speech.talk import TEST_TALK

TEST_NOISES = ("washing_machine_rinse", "restaurant", "running_tap", "furnace_pump_rattle")
"""Recordings that no network is trained with; `kneader` is the fifth, made here."""
LEVELS: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)
"""dB of the voice's active level over the noise; None: no noise."""


@dataclass(frozen=True, slots=True)
class Condition:
    """Where a sentence is heard."""

    snr: float | None
    """Voice over noise (dB); None in quiet."""
    noise: str
    room: bool = False
    """Whether with the echo of a room."""


def spoken(
    data: Path, graph: WordGraph, seed: int, jobs: int, espeak: int = 240, others: int = 100
) -> corpus.Corpus:
    """Test sentences and test talk by the test voices; neural ones are read from `data` (`*_test.json`)."""
    rng = Random(seed)
    said = phrases.test_sentences(graph, rng, 700) + [phrases.Sentence(t, "talk") for t in TEST_TALK] * 3
    rng.shuffle(said)
    made = corpus.synthesise(
        "test", {"espeak": espeak, "flite": others, "festival": others}, seed, jobs, said
    )
    return corpus.join([made, *(corpus.load(path) for path in sorted(data.glob("*_test.json")))])


def active_level(sound: NDArray[np.float64]) -> float:
    """RMS of the frames of 20 ms within 30 dB of the loudest (after ITU-T P.56's idea, simplified)."""
    frames = sound[: len(sound) // 320 * 320].reshape(-1, 320)
    power = (frames**2).mean(1) + 1e-12
    return float(np.sqrt(power[power > power.max() * 1e-3].mean()))


class Places:
    """Puts sentences into conditions; the same seed gives the same sound."""

    def __init__(self, data: Path) -> None:
        self._recorded = {
            name: corpus._read(data / "speech" / "noise" / f"{name}.flac") for name in TEST_NOISES
        }

    def noise(self, name: str, n: int, rng: np.random.Generator) -> NDArray[np.float64]:
        """`n` samples of a noise, RMS 0.1."""
        if name == "kneader":
            return noises.kneader(rng, n).astype(np.float64)
        pcm = self._recorded[name].astype(np.float64)
        pcm = np.resize(np.concatenate([pcm, pcm[::-1]]), len(pcm) * 2 + n)
        start = int(rng.integers(0, len(pcm) - n))
        part = pcm[start : start + n]
        return np.asarray(0.1 * part / (part.std() + 1e-9))

    def heard(self, pcm: corpus.Pcm, condition: Condition, seed: int) -> corpus.Pcm:
        """The sound as the endpointer cuts it: 0.35 s of background around the voice, at a random level."""
        rng = np.random.default_rng(seed)
        voice = pcm.astype(np.float64) / 32768
        if condition.room:
            voice = np.convolve(voice, rooms.response(rng))[: len(voice) + 1600]
        quiet = np.zeros(5600)
        sound = np.concatenate([quiet, voice, quiet])
        if condition.snr is not None:
            gain = active_level(voice) / 0.1 * 10 ** (-condition.snr / 20)
            sound = sound + gain * self.noise(condition.noise, len(sound), rng)
        sound = sound + 2e-4 * rng.standard_normal(len(sound)) * np.abs(voice).max()
        level = 10 ** (rng.uniform(-24, -3) / 20)
        return np.asarray(np.round((sound * level / np.abs(sound).max()).clip(-1, 1) * 32767), np.int16)


def conditions(number: int) -> Iterator[Condition]:
    """Conditions of a sentence: each level with one of the five noises in turn, and one room at 10 dB."""
    names = ("kneader", *TEST_NOISES)
    for place, snr in enumerate(LEVELS):
        yield Condition(snr, names[(number + place) % len(names)])
    yield Condition(10.0, names[(number + 3) % len(names)], room=True)
