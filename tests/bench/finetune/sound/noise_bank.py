"""The noise under the training speech: synthetic noise, recorded noise, and people talking, in stretches."""

from __future__ import annotations

import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from tests.bench.finetune.sound import noises, rooms
from tests.bench.finetune.sound.conditions import TEST_NOISES
from tests.bench.finetune.speech import corpus

SEGMENT = 160_000


def _made(seed: int) -> NDArray[np.int16]:
    return np.round(noises.made(np.random.default_rng(seed), SEGMENT).clip(-1, 1) * 32767 * 0.9).astype(
        np.int16
    )


def noise_bank(
    folder: Path, speech: corpus.Corpus, seed: int, jobs: int, made: int, people: tuple[int, int]
) -> NDArray[np.int16]:
    """(n, 160000): synthetic noises, recorded ones that are not for testing, then people.

    `people`: how many stretches of people, and how many of these, the last, of one person each.
    """
    random = Random(seed)
    with ProcessPoolExecutor(jobs) as pool:
        bank = list(pool.map(_made, [random.randrange(1 << 30) for _ in range(made)], chunksize=4))
    for path in sorted((folder / "speech" / "noise").glob("*.flac")):
        if path.stem in TEST_NOISES:
            continue
        pcm = corpus._read(path)
        whole = np.resize(np.concatenate([pcm, pcm[::-1]]), SEGMENT + len(pcm))
        bank += [whole[at : at + SEGMENT] for at in np.linspace(0, len(pcm), max(1, made // 40), dtype=int)]
    talkers, alone = people
    crowds = [random.randint(2, 12) for _ in range(talkers - alone)] + [1] * alone
    _SPEECH.append(speech)  # the processes inherit it
    with ProcessPoolExecutor(jobs, multiprocessing.get_context("fork")) as pool:
        bank += pool.map(_babble, crowds, [random.randrange(1 << 30) for _ in crowds], chunksize=4)
    _SPEECH.clear()
    return np.stack(bank)


_SPEECH: list[corpus.Corpus] = []


def _babble(crowd: int, seed: int) -> NDArray[np.int16]:
    mixed = babble(_SPEECH[0], crowd, Random(seed), np.random.default_rng(seed))
    return np.asarray(mixed / (np.abs(mixed).max() + 1e-9) * 0.9 * 32767, np.int16)


def babble(
    speech: corpus.Corpus, crowd: int, random: Random, rng: np.random.Generator
) -> NDArray[np.float64]:
    """(160000,) People talking all the time, each as loud as others or softer.

    Most from across a room; half of it with dishes between.
    """
    mixed = np.zeros(SEGMENT)
    for first in range(0, crowd, 4):
        group = np.zeros(SEGMENT)
        for _ in range(first, min(crowd, first + 4)):
            loudness, at = random.uniform(0.3, 1.0), random.randrange(-16_000, 0)
            while at < SEGMENT:
                sound = speech.sound(random.choice(speech.clips)).astype(np.float64)
                a, b = max(0, at), min(SEGMENT, at + len(sound))
                if b > a:
                    group[a:b] += (
                        loudness * random.uniform(0.6, 1.0) * sound[a - at : b - at] / (sound.std() + 1)
                    )
                at += len(sound) + random.randrange(0, 6_000)
        if random.random() < 0.75:
            room = rooms.response(rng).astype(np.float64)
            room[:80] *= random.uniform(0.1, 1.0)  # away from the microphone: less of the direct sound
            size = SEGMENT + len(room)
            group = np.fft.irfft(np.fft.rfft(group, size) * np.fft.rfft(room, size), size)[:SEGMENT]
        mixed += group / (group.std() + 1e-9) * random.uniform(0.4, 1.0)
    if crowd > 1 and random.random() < 0.5:
        mixed += 10 ** (random.uniform(-14, 2) / 20) * mixed.std() / 0.1 * noises.clatter(rng, SEGMENT)
    return mixed
