"""A corpus as one run of int16 samples and a table: made from voices here, or read from recordings.

File `name.pcm` (16 kHz mono int16) with `name.json`: rows of start, samples, text, kind, voice. A corpus may
also travel as Ogg (`name.ogg`). Real recordings come from the folder of `CRUMBCALL_SPEECH` and its neighbour
`speech_train`; only clips under CC BY are trained with, and no speaker of training is tested.
"""

from __future__ import annotations

import csv
import json
import subprocess
import zlib
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.bench.finetune.speech import phrases, voices

Pcm = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Clip:
    """One utterance of a corpus."""

    start: int
    """Its first sample."""
    samples: int
    text: str
    kind: str
    """command, number, talk, words or real."""
    voice: str
    """Engine and name of the voice, or the speaker."""


@dataclass(frozen=True, slots=True, eq=False)
class Corpus:
    """Samples, shape (n,), 16 kHz, and the clips in them."""

    pcm: Pcm
    clips: tuple[Clip, ...]

    def sound(self, clip: Clip) -> Pcm:
        """Samples of one clip."""
        return self.pcm[clip.start : clip.start + clip.samples]

    def save(self, path: Path) -> None:
        """Write `path`.pcm and `path`.json, each whole or not at all."""
        rows = [[c.start, c.samples, c.text, c.kind, c.voice] for c in self.clips]
        part = path.with_suffix(".part")
        self.pcm.tofile(part)
        part.replace(path.with_suffix(".pcm"))
        part.write_text(json.dumps(rows))
        part.replace(path.with_suffix(".json"))


def load(path: Path) -> Corpus:
    """Read a corpus, from .pcm or .ogg."""
    rows = json.loads(path.with_suffix(".json").read_text())
    if path.with_suffix(".pcm").exists():
        pcm = np.fromfile(path.with_suffix(".pcm"), np.int16)
    else:
        pcm = _read(path.with_suffix(".ogg"))
    return Corpus(pcm, tuple(Clip(*row) for row in rows if row[0] + row[1] <= len(pcm)))


def _read(path: Path) -> Pcm:
    import soundfile

    pcm, rate = soundfile.read(path, dtype="int16")
    if rate != voices.RATE:
        raise ValueError(f"{path}: {rate} Hz, not {voices.RATE}")
    return np.asarray(pcm, np.int16)


def collect(sounds: Iterable[tuple[NDArray[Any], str, str, str]]) -> Corpus:
    """A corpus of (samples, text, kind, voice); floats are -1..1."""
    pieces: list[Pcm] = []
    clips: list[Clip] = []
    start = 0
    for sound, text, kind, voice in sounds:
        pcm = sound if sound.dtype == np.int16 else np.round(np.clip(sound, -1, 1) * 32767).astype(np.int16)
        if len(pcm) < 3200:
            continue
        pieces.append(pcm)
        clips.append(Clip(start, len(pcm), text, kind, voice))
        start += len(pcm)
    return Corpus(np.concatenate(pieces) if pieces else np.zeros(0, np.int16), tuple(clips))


def join(parts: Sequence[Corpus]) -> Corpus:
    """One corpus of several."""
    clips: list[Clip] = []
    start = 0
    for part in parts:
        clips += [Clip(c.start + start, c.samples, c.text, c.kind, c.voice) for c in part.clips]
        start += len(part.pcm)
    return Corpus(np.concatenate([part.pcm for part in parts]), tuple(clips))


def said_by(voice: voices.Voice, texts: list[str], seed: int) -> list[NDArray[np.float32]]:
    """The texts by a voice; one that the program or our tables cannot say is empty."""
    try:
        return voices.say(voice, texts, seed)
    except (subprocess.SubprocessError, ValueError, OSError):
        if len(texts) == 1:
            return [np.zeros(0, np.float32)]
        half = len(texts) // 2
        return said_by(voice, texts[:half], seed) + said_by(voice, texts[half:], seed + 1)


def _job(job: tuple[voices.Voice, list[phrases.Sentence], int]) -> list[tuple[Pcm, str, str, str]]:
    voice, sentences, seed = job
    said = said_by(voice, [s.text for s in sentences], seed)
    return [
        (np.round(sound * 32767).astype(np.int16), s.text, s.kind, f"{voice.engine}:{voice.name}")
        for sound, s in zip(said, sentences, strict=True)
    ]


def synthesise(
    split: voices.Split,
    counts: dict[str, int],
    seed: int,
    jobs: int,
    texts: list[phrases.Sentence] | None = None,
    commands: float = 0.6,
) -> Corpus:
    """`counts` sentences by each engine of a split, 20 a voice; `texts`: said instead of random ones."""
    rng = Random(seed)
    work: list[tuple[voices.Voice, list[phrases.Sentence], int]] = []
    for engine, count in counts.items():
        known = voices.of(split, engine)
        rng.shuffle(known)
        for number in range(-(-count // 20)):
            said = rng.sample(texts, 20) if texts else phrases.sentences(rng, 20, commands)
            work.append((known[number % len(known)], said, rng.randrange(1 << 30)))
    rng.shuffle(work)
    with ProcessPoolExecutor(jobs) as pool:
        done = [clip for part in pool.map(_job, work, chunksize=2) for clip in part]
    return collect(done)


def speaker_split(speaker: str) -> voices.Split:
    """Which split a real speaker belongs to, for good: by a checksum of the name."""
    place = zlib.crc32(speaker.encode()) % 100
    return "test" if place < 35 else "dev" if place < 45 else "train"


def real(folder: Path, split: voices.Split, *, tested: frozenset[str] = frozenset()) -> Corpus:
    """Real single words under CC BY (Speech Commands) of `speech_train` and `speech` in `folder`.

    `tested`: speakers of the test folder; only these are kept back for dev and test, all others are for
    training.
    """
    found: list[tuple[Pcm, str, str, str]] = []
    training = folder / "speech_train"
    pcm = _read(training / "clips.ogg")
    with (training / "index.csv").open() as file:
        for row in csv.DictReader(file):
            start, samples = int(row["start_sample"]), int(row["samples"])
            if _split_of(row["speaker"], tested) == split:
                found.append((pcm[start : start + samples], row["transcript"], "real", row["speaker"]))
    with (folder / "speech" / "manifest.csv").open() as file:
        chosen = [
            row
            for row in csv.DictReader(file)
            if row["licence"] == "CC-BY-4.0"
            and "gsc" in row["speaker"]
            and _split_of(row["speaker"], tested) == split
        ]
    for row in chosen:
        found.append((_read(folder / "speech" / row["file"]), row["transcript"], "real", row["speaker"]))  # noqa: PERF401
    return collect(found)


def spliced(part: Corpus, seed: int, n: int) -> Corpus:
    """`n` runs of two to five words of one speaker each, as digits follow each other in a lot's number.

    Quiet ends are cut, levels are equal, and there is up to 0.12 s between the words.
    """
    rng = Random(seed)
    own: dict[str, list[Clip]] = {}
    for clip in part.clips:
        own.setdefault(clip.voice, []).append(clip)
    speakers = [clips for clips in own.values() if len(clips) > 3]
    made: list[tuple[NDArray[np.float64], str, str, str]] = []
    while speakers and len(made) < n:
        said = rng.choices(rng.choice(speakers), k=rng.randint(2, 5))
        pieces = []
        for clip in said:
            pieces += [_spoken(part.sound(clip)), np.zeros(rng.randrange(0, 1920))]
        made.append(
            (np.concatenate(pieces[:-1]), " ".join(clip.text for clip in said), "real", said[0].voice)
        )
    return collect(made)


def _spoken(pcm: Pcm, below_peak_db: float = 28.0) -> NDArray[np.float64]:
    """The loud part of a word with 30 ms around it, RMS 0.1, peak 0.9 at most."""
    whole = pcm[: len(pcm) // 160 * 160].astype(np.float64).reshape(-1, 160)
    power = np.square(whole).mean(1)
    loud = np.flatnonzero(power >= power.max() * 10 ** (-below_peak_db / 10))
    word = whole[max(0, loud[0] - 3) : loud[-1] + 4].ravel()
    word = 0.1 * word / (word.std() + 1e-9)
    return np.asarray(word * min(1.0, 0.9 / (np.abs(word).max() + 1e-9)))


def _split_of(speaker: str, tested: frozenset[str]) -> voices.Split:
    return speaker_split(speaker) if speaker in tested else "train"


def tested_speakers(folder: Path) -> frozenset[str]:
    """Speakers of the folder of real recordings."""
    with (folder / "speech" / "manifest.csv").open() as file:
        return frozenset(row["speaker"] for row in csv.DictReader(file) if row["speaker"])
