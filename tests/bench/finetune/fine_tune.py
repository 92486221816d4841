# mypy: disable-error-code="import-not-found"
"""Makes the speech, fine-tunes the network, writes its weight file.

`python -m tests.bench.finetune.fine_tune --data DIR --out DIR`

`--data` holds the corpora of the neural voices (`*_train*.json` with `.pcm` or `.ogg`, at any depth) and the
folders `speech` and `speech_train`. `--minutes` limits the training itself. Several cards train one network
together.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import tempfile
import threading
import zlib
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from random import Random
from time import perf_counter

import numpy as np
import torch
from numpy.typing import NDArray

from assistant.config.resources import grammar_folder
from assistant.nlu.grammar import load_grammar
from assistant.ports import Asking
from tests.bench.finetune import archive
from tests.bench.finetune.lexicon import Targets
from tests.bench.finetune.measure import error_rate
from tests.bench.finetune.network import Weights, weights
from tests.bench.finetune.sound import rooms
from tests.bench.finetune.sound.augment import Kitchen, Recipe
from tests.bench.finetune.sound.noise_bank import noise_bank
from tests.bench.finetune.speech import corpus, phrases
from tests.bench.finetune.train import Cards, Plan, Student, TrainingSet, fine_tune, training_set


def _room(seed: int, number: int) -> NDArray[np.float32]:
    return rooms.response(np.random.default_rng([seed, number]))


def share(kind: str) -> float:
    """How often a clip is drawn, before the sources are balanced."""
    return 1.4 if kind == "number" else 1.0


def arguments() -> argparse.Namespace:
    """The options of the command line."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument("--start", type=Path, help="weight file to go on from (default: the packaged one)")
    parse.add_argument("--seed", type=int, default=7)
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parse.add_argument("--cards", type=int, default=max(1, torch.cuda.device_count()))
    parse.add_argument("--size", type=float, default=1.0, help="factor on the number of synthetic sentences")
    parse.add_argument("--minutes", type=float, default=10.0)
    parse.add_argument(
        "--renew",
        type=float,
        nargs="*",
        default=[],
        help="shares of the time at which the corpora are read again",
    )
    parse.add_argument("--steps", type=int, default=1_000_000)
    parse.add_argument("--samples", type=int, default=Plan().samples)
    parse.add_argument("--rate", type=float, default=Plan().rate)
    parse.add_argument("--likeness", type=float, default=Plan().likeness)
    parse.add_argument("--rival", type=float, default=Plan().rival)
    parse.add_argument("--every", type=int, default=1000)
    parse.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    return parse.parse_args()


def main() -> None:
    """Run it."""
    options = arguments()
    options.out.mkdir(parents=True, exist_ok=True)
    began = perf_counter()

    def log(text: str) -> None:
        line = f"{perf_counter() - began:7.1f} s  {text}"
        print(line, flush=True)
        with (options.out / "log.txt").open("a") as file:
            file.write(line + "\n")

    log(f"options {json.dumps(vars(options), default=str)}")
    data = TrainingData(options, log)
    prepared = data.training_set()
    teacher = weights(archive.read(archive.packaged()), data.device)
    log(f"packaged: dev phone errors {data.dev_errors(teacher)}")

    def report(step: int, losses: list[float], average: Weights) -> None:
        ctc, rivals, like = losses
        log(
            f"step {step}: ctc {ctc:.3f} rivals {rivals:.3f} likeness {like:.3f} "
            f"dev phone errors {data.dev_errors(average)}"
        )
        save(options.out / "finetuned.hama", {k: v.float().cpu().numpy() for k, v in average.items()})

    with tempfile.TemporaryDirectory() as folder:
        exchange = Path(folder)
        publish(prepared, exchange, 0)
        others = [
            multiprocessing.get_context("spawn").Process(target=follow, args=(options, exchange, number))
            for number in range(1, options.cards)
        ]
        for other in others:
            other.start()
        final = train_on_card(options, exchange, 0, prepared, report, data.training_set)
        save(options.out / "finetuned.hama", final)
        for other in others:
            other.join()
    tuned = weights({**archive.read(archive.packaged()), **final}, data.device)
    log(f"fine-tuned: dev phone errors {data.dev_errors(tuned)}")


def follow(options: argparse.Namespace, exchange: Path, number: int) -> None:
    """Another card, in a process of its own: it takes the training set from the folder `exchange`."""
    if options.device == "cuda":
        torch.cuda.set_device(number)
    train_on_card(options, exchange, number, fetch(exchange, 0, device_of(options, number)))


def device_of(options: argparse.Namespace, number: int) -> str:
    """Name of a card."""
    return f"cuda:{number}" if options.device == "cuda" else "cpu"


def publish(prepared: TrainingSet, exchange: Path, number: int) -> None:
    """Write a training set for the other cards."""
    torch.save(prepared, exchange / f"{number}.part")
    (exchange / f"{number}.part").replace(exchange / f"{number}.pt")


def fetch(exchange: Path, number: int, device: str) -> TrainingSet:
    """Read a training set that the first card wrote."""
    found: TrainingSet = torch.load(exchange / f"{number}.pt", map_location=device, weights_only=False)
    return found


def train_on_card(
    options: argparse.Namespace,
    exchange: Path,
    number: int,
    prepared: TrainingSet,
    report: Callable[[int, list[float], Weights], None] = lambda *_: None,
    prepare: Callable[[], TrainingSet] | None = None,
) -> dict[str, NDArray[np.float32]]:
    """Train on one card of several; the first prepares new training sets, the others fetch them."""
    device = device_of(options, number)
    if options.cards > 1:
        torch.distributed.init_process_group(
            "nccl" if options.device == "cuda" else "gloo",
            init_method=f"file://{exchange}/meet",
            rank=number,
            world_size=options.cards,
        )
    plan = Plan(
        steps=options.steps,
        samples=options.samples // options.cards,
        rate=options.rate,
        likeness=options.likeness,
        rival=options.rival,
        half=options.device != "cpu",
    )
    packaged = archive.read(archive.packaged())
    start = archive.read(options.start.read_bytes()) if options.start else packaged
    teacher = {name: tensor.detach() for name, tensor in weights(packaged, device).items()}
    due = list(options.renew)
    began = perf_counter()

    def renew(used: float) -> TrainingSet | None:
        if not due or used < due[0]:
            return None
        due.pop(0)
        turn = len(options.renew) - len(due)
        found = prepare() if prepare else None
        if found is not None and options.cards > 1:
            publish(found, exchange, turn)
        if options.cards > 1:
            torch.distributed.barrier()
        return found or fetch(exchange, turn, device)

    final = fine_tune(
        Student(start, teacher, plan, options.seed, Cards(number, options.cards)),
        prepared,
        report,
        options.every,
        stop=lambda: (perf_counter() - began) / 60 / options.minutes,
        renew=renew,
    )
    if options.cards > 1:
        torch.distributed.destroy_process_group()
    return final


def save(path: Path, tensors: dict[str, NDArray[np.float32]]) -> None:
    """Write a weight file whole or not at all."""
    archive.save(path.with_suffix(".part"), tensors)
    path.with_suffix(".part").replace(path)


WANTED = {
    "espeak": 0.13,
    "flite": 0.05,
    "festival": 0.15,
    "rhvoice": 0.08,
    "pico": 0.05,
    "kokoro": 0.32,
    "vits": 0.06,
    "gsc": 0.16,
}
"""Shares of the sources, whatever their sizes."""


class TrainingData:
    """Everything to train with, and the dev sounds in quiet, at 10 dB and at 0 dB with their targets."""

    def __init__(self, options: argparse.Namespace, log: Callable[[str], None]) -> None:
        data, size = options.data, options.size
        self.device = device_of(options, 0)
        self._data, self._log = data, log
        said = phrases.texts(
            load_grammar(grammar_folder() / "commands.jsgf").graph(Asking.ANSWER),
            Random(options.seed),
            int(16_000 * size),
        )
        counts = {
            "espeak": int(18_000 * size),
            "flite": int(2_400 * size),
            "festival": int(7_000 * size),
            "rhvoice": int(5_000 * size),
            "pico": int(4_000 * size),
        }
        self._targets = Targets(Path(__file__).parents[3] / "assistant" / "asr" / "weights" / "kitchen.toml")
        self._targets("basil and butter")  # what it needs is loaded before processes part from this one
        spelling = threading.Thread(target=lambda: [self._targets(sentence.text) for sentence in said])
        spelling.start()  # words that are spelled by rule take a while
        self._made = corpus.synthesise("train", counts, options.seed, options.jobs, said)
        log(f"synthetic: {len(self._made.clips)} clips, {len(self._made.pcm) / 16000 / 3600:.2f} h")
        tested = corpus.tested_speakers(data)
        self._real = corpus.real(data, "train", tested=tested)
        runs = corpus.spliced(self._real, options.seed, int(len(self._real.clips) * 1.5))
        log(
            f"real: {len(self._real.clips)} words of {len({c.voice for c in self._real.clips})} speakers, "
            f"{len(runs.clips)} runs of them"
        )
        self._real = corpus.join([self._real, runs])
        least = max(size, 0.05)
        self._people = (int(460 * least), int(60 * least))
        self._bank = noise_bank(
            data,
            corpus.join([self._made, self._neural(), self._real]),
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
        spelling.join()
        self._known: dict[str, list[tuple[int, ...]]] = {}
        dev_part = corpus.join(
            [
                corpus.synthesise("dev", {"espeak": 160}, 11, options.jobs),
                corpus.real(data, "dev", tested=tested),
            ]
        )
        self._hold_dev(self._prepare(dev_part, lambda *_: 1.0, 0.0))

    def _hold_dev(self, training_set: TrainingSet) -> None:
        kitchen = Kitchen(training_set.bank, 99)
        chosen = torch.arange(len(training_set.target) - 1, device=self.device)
        self._dev = []
        for low, high in ((35.0, 35.1), (10.0, 10.1), (0.0, 0.1)):
            kitchen.recipe = Recipe(quiet=0.0, lowest_snr=low, highest_snr=high, slowest=1.0, fastest=1.001)
            self._dev.append(torch.cat([kitchen.batch(part, 64_000)[1] for part in chosen.split(128)]))
        self._dev_targets = [
            tuple(row[:n].tolist())
            for row, n in zip(training_set.target[:-1], training_set.target_length[:-1].tolist(), strict=True)
        ]

    def dev_errors(self, w: Weights) -> str:
        """Phone errors per phone on the dev sounds: quiet, 10 dB, 0 dB."""
        return " ".join(f"{error_rate(w, waves, self._dev_targets):.3f}" for waves in self._dev)

    def _neural(self) -> corpus.Corpus:
        """Corpora of the neural voices that are made by now."""
        parts = [corpus.load(path) for path in sorted(self._data.rglob("*_train*.json"))]
        return without_held_back(corpus.join(parts)) if parts else corpus.collect([])

    def _candidates(self, text: str) -> list[tuple[int, ...]]:
        if text not in self._known:
            self._known[text] = self._targets(text)
        return self._known[text]

    def _rivals(self, text: str) -> list[tuple[int, tuple[int, ...]]]:
        """Number words of a sentence that may be misheard, and for what phones."""
        return [
            (place, self._targets.pronounce(word)[0])
            for place, word in phrases.rivals(text, Random(zlib.crc32(text.encode())))
        ]

    def _prepare(
        self, part: corpus.Corpus, shares: Callable[[str, str], float], noise_alone: float
    ) -> TrainingSet:
        teacher = {
            name: tensor.detach()
            for name, tensor in weights(archive.read(archive.packaged()), self.device).items()
        }
        return training_set(
            part,
            self._candidates,
            shares,
            self._bank,
            self._people,
            self._rooms,
            teacher,
            noise_alone,
            self._rivals,
        )

    def training_set(self) -> TrainingSet:
        """Everything that is made by now, the sources in their fixed shares."""
        neural = self._neural()
        everything = corpus.join([self._made, neural, self._real])
        source = {c.voice: c.voice.split(":")[0].split("-")[0] for c in everything.clips}
        number = Counter(source[c.voice] for c in everything.clips)

        def shares(kind: str, voice: str) -> float:
            return share(kind) * WANTED[source[voice]] / number[source[voice]]

        prepared = self._prepare(everything, shares, 0.03)
        self._log(
            f"neural: {len(neural.clips)} clips, {len(neural.pcm) / 3600 / 16000:.2f} h; "
            f"in all {len(everything.clips)} clips, {len(everything.pcm) / 16000 / 3600:.2f} h"
        )
        return prepared


def without_held_back(part: corpus.Corpus) -> corpus.Corpus:
    """Without the clips whose sentences are for testing only."""
    return corpus.Corpus(
        part.pcm, tuple(c for c in part.clips if not phrases.held_back(phrases.Sentence(c.text, c.kind)))
    )


if __name__ == "__main__":
    main()
