# mypy: disable-error-code="import-not-found"
"""The sounds of a training: corpora that are made by now, recordings, noise; the dev sounds."""

from __future__ import annotations

import argparse
import zlib
from collections import Counter, defaultdict
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from random import Random

import numpy as np
import torch
from numpy.typing import NDArray

from tests.bench.finetune import archive
from tests.bench.finetune.lexicon import Phones, Targets
from tests.bench.finetune.measure import error_rate
from tests.bench.finetune.network import Weights, weights
from tests.bench.finetune.sound import rooms
from tests.bench.finetune.sound.augment import Kitchen, Recipe
from tests.bench.finetune.sound.noise_bank import noise_bank
from tests.bench.finetune.speech import corpus, phrases
from tests.bench.finetune.speech.voices import RATE
from tests.bench.finetune.training_set import Heard, TrainingSet, training_set
from tests.bench.finetune.wide import people

COMMANDS = frozenset({"command", "number"})
WANTED = {
    True: {
        "kokoro": 0.175,
        "festival": 0.09,
        "espeak": 0.06,
        "rhvoice": 0.045,
        "flite": 0.045,
        "pico": 0.03,
        "vits": 0.02,
    },
    False: {
        "people": 0.16,
        "words": 0.06,
        "gsc": 0.08,
        "kokoro": 0.14,
        "espeak": 0.04,
        "festival": 0.03,
        "rhvoice": 0.025,
        "flite": 0.015,
        "pico": 0.015,
    },
}
"""Shares of the sources in what is drawn, whatever their sizes: of commands, and of anything else."""


def source(clip: corpus.Clip) -> tuple[bool, str]:
    """Whether a clip is a command, and the engine or collection that it is of."""
    return clip.kind in COMMANDS, clip.voice.split(":")[0].split("-")[0]


def favour(clip: corpus.Clip) -> float:
    """How often a clip is drawn among those of its source: commands with numbers more often than others."""
    return 1.8 if clip.kind == "number" else 1.0


def _room(seed: int, number: int) -> NDArray[np.float32]:
    return rooms.response(np.random.default_rng([seed, number]))


def device_of(options: argparse.Namespace, number: int) -> str:
    """Name of a card."""
    return f"cuda:{number}" if options.device == "cuda" else "cpu"


def teachers(options: argparse.Namespace, device: str) -> list[Weights]:
    """The packaged network and those that teach beside it."""
    files = [archive.packaged(), *(path.read_bytes() for path in options.teacher)]
    return [
        {name: tensor.detach() for name, tensor in weights(archive.read(data), device).items()}
        for data in files
    ]


class Dev:
    """Sounds to look at in training, in quiet, at 10 dB and at 0 dB, with their targets."""

    def __init__(self, sounds: TrainingSet, groups: list[str]) -> None:
        device = sounds.target.device
        kitchen = Kitchen(sounds.bank, 99)
        chosen = torch.arange(len(sounds.target) - 1, device=device)
        self._waves = []
        for low, high in ((35.0, 35.1), (10.0, 10.1), (0.0, 0.1)):
            kitchen.recipe = Recipe(
                quiet=0.0, lowest_snr=low, highest_snr=high, usual=0.0, slowest=1.0, fastest=1.001
            )
            made = torch.cat([kitchen.batch(part, 96_000)[1] for part in chosen.split(128)])
            self._waves.append(made.cpu())
        self._groups = groups
        self._targets = [
            tuple(row[:n].tolist())
            for row, n in zip(sounds.target[:-1], sounds.target_length[:-1].tolist(), strict=True)
        ]

    def errors(self, w: Weights) -> str:
        """Phone errors per phone of each group: quiet, 10 dB, 0 dB."""
        said = []
        for group in dict.fromkeys(self._groups):
            rows = [row for row, own in enumerate(self._groups) if own == group]
            targets = [self._targets[row] for row in rows]
            rates = (error_rate(w, waves[rows].to(w["mel_fb"].device), targets, 64) for waves in self._waves)
            said.append(f"{group} {' '.join(f'{rate:.3f}' for rate in rates)}")
        return "; ".join(said)


class TrainingData:
    """Everything to train with."""

    def __init__(self, options: argparse.Namespace, log: Callable[[str], None]) -> None:
        data = options.data
        self.device = device_of(options, 0)
        self._data, self._log = data, log
        self._targets = Targets(spellings=options.spellings)
        self._teachers = teachers(options, self.device)
        self._known: dict[tuple[str, str, int], Heard] = {}
        tested = corpus.tested_speakers(data)
        words = corpus.real(data, "train", tested=tested)
        runs = corpus.spliced(words, options.seed, int(len(words.clips) * 1.5))
        sentences = people.clips(data)
        log(
            f"real: {len(words.clips)} words of {len({c.voice for c in words.clips})} speakers, "
            f"{len(runs.clips)} runs of them; {len(sentences.clips)} clips of "
            f"{len({c.voice for c in sentences.clips})} other people"
        )
        self._real = corpus.join([words, runs, sentences])
        least = max(options.size, 0.05)
        self._people = (int(460 * least), int(60 * least))
        self._bank = noise_bank(
            data,
            corpus.join([self._voices(), self._real]),
            options.seed,
            options.jobs,
            int(600 * least),
            self._people,
        )
        with ProcessPoolExecutor(options.jobs) as pool:
            self._rooms = np.stack(
                list(pool.map(partial(_room, options.seed), range(int(400 * least)), chunksize=4))
            )
        log(f"noise: {len(self._bank)} stretches of 10 s; {len(self._rooms)} rooms")
        self._dev_part = corpus.join(
            [
                corpus.synthesise("dev", {"espeak": 160 if options.size > 0.1 else 20}, 11, options.jobs),
                corpus.real(data, "dev", tested=tested),
                people.clips(data, "dev"),
            ]
        )

    def dev(self) -> Dev:
        """Sounds to look at in training."""
        part = corpus.Corpus(self._dev_part.pcm, tuple(c for c in self._dev_part.clips if c.samples < 90_000))
        groups = [
            "people" if c.kind == "people" else "espeak" if ":" in c.voice else "words" for c in part.clips
        ]
        dev = Dev(self._prepare(part, lambda *_: 1.0, 0.0), groups)
        for name, teacher in enumerate(self._teachers):
            self._log(f"teacher {name}: dev phone errors: {dev.errors(teacher)}")
        return dev

    def _voices(self) -> corpus.Corpus:
        """Corpora of the voices that are made by now."""
        parts = [corpus.load(path) for path in sorted(self._data.rglob("*_train*.json"))]
        return without_held_back(corpus.join(parts)) if parts else corpus.collect([])

    def _rivals(self, text: str) -> list[tuple[int, Phones]]:
        """Words of a sentence that may be misheard, and for what phones."""
        return [
            (place, self._targets.first(word))
            for place, word in phrases.rivals(text, Random(zlib.crc32(text.encode())))
        ]

    def _prepare(
        self, part: corpus.Corpus, shares: Callable[[corpus.Clip], float], noise_alone: float
    ) -> TrainingSet:
        return training_set(
            part,
            self._targets,
            shares,
            self._bank,
            self._people,
            self._rooms,
            self._teachers,
            noise_alone,
            self._rivals,
            self._known,
        )

    def training_set(self) -> TrainingSet:
        """Everything that is made by now, the sources in their fixed shares."""
        made = corpus.join([self._voices(), self._real])
        everything = corpus.Corpus(made.pcm, tuple(c for c in made.clips if self._targets.can_spell(c.text)))
        number = Counter(source(c) for c in everything.clips)
        weight: dict[tuple[bool, str], float] = defaultdict(float)
        for clip in everything.clips:
            weight[source(clip)] += favour(clip)

        def shares(clip: corpus.Clip) -> float:
            command, engine = source(clip)
            return WANTED[command].get(engine, 0.02) * favour(clip) / weight[command, engine]

        prepared = self._prepare(everything, shares, 0.03)
        hours = dict.fromkeys(number, 0.0)
        for clip in everything.clips:
            hours[source(clip)] += clip.samples / RATE / 3600
        self._log(
            f"{len(everything.clips)} clips, {sum(hours.values()):.2f} h, "
            f"{len({w for c in everything.clips for w in c.text.split()})} words: "
            + ", ".join(
                f"{engine} {'commands' if command else 'else'} {n} ({hours[command, engine]:.2f} h)"
                for (command, engine), n in sorted(number.items())
            )
        )
        return prepared


def without_held_back(part: corpus.Corpus) -> corpus.Corpus:
    """Without the clips whose sentences are for testing only."""
    return corpus.Corpus(
        part.pcm, tuple(c for c in part.clips if not phrases.held_back(phrases.Sentence(c.text, c.kind)))
    )
