"""The listed sentences as sound: each by a voice of every engine, in quiet and beside recorded machines.

Voices are those of the hearing benchmark's test part: nothing was trained with them. Deterministic: which
voice of an engine says a sentence, the noise and its stretch follow from the place in the list.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import numpy as np

from assistant.ports import Pcm
from tests.bench.hearing.sounds import RECORDED, Noise, mixed, noises
from tests.bench.hearing.voices import VOICES, Speaker, available, speak
from tests.phrasings.sentences import Phrasing

SNRS: tuple[int | None, ...] = (None, 10)
"""dB of the voice over the noise; None: quiet."""


@dataclass(frozen=True)
class Clip:
    """A sentence as one voice says it in one noise."""

    phrasing: Phrasing
    pcm: Pcm
    engine: str
    voice: str
    noise: str
    snr: str


def engines() -> dict[str, list[Speaker]]:
    """Voices of each engine on this machine."""
    found: dict[str, list[Speaker]] = {}
    for voice in available("test"):
        found.setdefault(voice.program, []).append(voice)
    return found


def missing() -> list[str]:
    """Engines that the benchmark knows and this machine lacks."""
    return sorted({voice.program for voice in VOICES["test"]} - engines().keys())


def machines(speech: Path | None) -> list[Noise]:
    """The recorded noises, which nothing was trained with; the made ones where there is no recording."""
    known = noises("test", speech)
    return [noise for noise in known if noise.name in RECORDED["test"]] or known


def sampled(sentences: list[Phrasing], most: int | None, seed: int) -> list[Phrasing]:
    """At most so many of them, by chance but always the same; None: all."""
    if most is None or most >= len(sentences):
        return sentences
    places = sorted(random.Random(seed).sample(range(len(sentences)), most))
    return [sentences[place] for place in places]


def clips(
    sentences: list[Phrasing], speech: Path | None, seed: int, sounds: Path | None = None
) -> Iterator[Clip]:
    """Each sentence by each engine at each ratio; its voice and noise by turns.

    `sounds`: folder in which what was spoken is kept for the next run; None: nothing is kept.
    """
    around = machines(speech)
    for turn, (engine, voices) in enumerate(engines().items()):
        for number, voice in enumerate(voices):
            own = list(enumerate(sentences))[number :: len(voices)]
            for (place, one), pcm in zip(
                own, spoken(voice, [said.text for _, said in own], sounds), strict=True
            ):
                noise = around[(place + turn + seed) % len(around)]
                for snr in SNRS:
                    clip_seed = 10_000 * seed + 1000 * turn + place
                    yield Clip(
                        one,
                        mixed(pcm, noise if snr else None, snr or 99.0, clip_seed),
                        engine,
                        voice.name,
                        noise.name if snr else "none",
                        f"{snr} dB" if snr else "quiet",
                    )


def spoken(voice: Speaker, texts: list[str], sounds: Path | None) -> list[Pcm]:
    """Sound of each text; `sounds`: folder that keeps it for the next run, or None."""
    if sounds is None:
        return _said(voice, texts)
    sounds.mkdir(parents=True, exist_ok=True)
    files = [sounds / f"{sha256(f'{voice}: {text}'.encode()).hexdigest()[:24]}.npy" for text in texts]
    lacking = [place for place, file in enumerate(files) if not file.is_file()]
    for place, pcm in zip(lacking, _said(voice, [texts[place] for place in lacking]), strict=True):
        np.save(files[place], pcm)
    return [np.load(file) for file in files]


def _said(voice: Speaker, texts: list[str]) -> list[Pcm]:
    """Not every program can be started to say nothing."""
    return speak(voice, texts) if texts else []
