# mypy: disable-error-code="import-not-found"
"""Makes the speech, teaches the network, writes its weight file: `python -m tests.bench.ear.teach --out DIR ...`.

`--data` holds the corpora of the neural voices (`*.json` with `.pcm` or `.ogg`) and, beside them or by
`CRUMBCALL_SPEECH`, the folders `speech` and `speech_train`. `--minutes` bounds the teaching itself.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from random import Random
from time import perf_counter

import numpy as np
import torch
from numpy.typing import NDArray

from assistant.nlu.grammar import load_grammar
from assistant.resources import grammar_folder
from tests.bench.ear import archive, corpus, noises, phrases, rooms
from tests.bench.ear.augment import Kitchen
from tests.bench.ear.conditions import TEST_NOISES
from tests.bench.ear.lexicon import Targets
from tests.bench.ear.measure import error_rate
from tests.bench.ear.network import Weights, weights
from tests.bench.ear.train import Lessons, Plan, lessons, teach

HERE = Path(__file__).parent
SEGMENT = 160_000


def _made(seed: int) -> NDArray[np.int16]:
    return np.round(noises.made(np.random.default_rng(seed), SEGMENT).clip(-1, 1) * 32767 * 0.9).astype(
        np.int16
    )


def noise_bank(
    folder: Path, speech: corpus.Corpus, seed: int, jobs: int, made: int, talk: int
) -> NDArray[np.int16]:
    """(n, 160000): made noises, real ones that are not for testing, then `talk` stretches of people talking."""
    random = Random(seed)
    with ProcessPoolExecutor(jobs) as pool:
        bank = list(pool.map(_made, [random.randrange(1 << 30) for _ in range(made)], chunksize=4))
    for path in sorted((folder / "speech" / "noise").glob("*.flac")):
        if path.stem in TEST_NOISES:
            continue
        pcm = corpus._read(path)
        whole = np.resize(np.concatenate([pcm, pcm[::-1]]), SEGMENT + len(pcm))
        bank += [whole[at : at + SEGMENT] for at in np.linspace(0, len(pcm), max(1, made // 60), dtype=int)]
    for number in range(talk):
        mixed = np.zeros(SEGMENT)
        for _ in range(1 if number % 2 else random.randint(3, 8)):
            at = random.randrange(-16_000, 0)
            while at < SEGMENT:
                sound = speech.sound(random.choice(speech.clips)).astype(np.float64)
                sound *= random.uniform(0.5, 1.0) * 0.1 * 32767 / (sound.std() + 1)
                a, b = max(0, at), min(SEGMENT, at + len(sound))
                if b > a:
                    mixed[a:b] += sound[a - at : b - at]
                at += len(sound) + random.randrange(0, 6_000)
        bank.append(mixed.clip(-32767, 32767).astype(np.int16))
    return np.stack(bank)


def share(kind: str) -> float:
    """How often a clip is drawn, before the sources are balanced."""
    return 1.4 if kind == "number" else 1.0


def main() -> None:
    """Run it."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument("--seed", type=int, default=7)
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parse.add_argument("--size", type=float, default=1.0, help="factor on the number of synthetic sentences")
    parse.add_argument("--minutes", type=float, default=10.0)
    parse.add_argument("--steps", type=int, default=1_000_000)
    parse.add_argument("--samples", type=int, default=Plan().samples)
    parse.add_argument("--rate", type=float, default=Plan().rate)
    parse.add_argument("--likeness", type=float, default=Plan().likeness)
    parse.add_argument("--every", type=int, default=1000)
    parse.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    options = parse.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    began = perf_counter()

    def log(text: str) -> None:
        line = f"{perf_counter() - began:7.1f} s  {text}"
        print(line, flush=True)
        with (options.out / "log.txt").open("a") as file:
            file.write(line + "\n")

    log(f"options {json.dumps(vars(options), default=str)}")
    taught = archive.read(archive.packaged())
    everything, dev, dev_targets, prepared = prepare(options, taught, log)
    log(
        f"{len(everything.clips)} clips, {len(everything.pcm) / 16000 / 3600:.2f} h; {len(prepared.share)} lessons"
    )
    best = {"rate": 1.0}

    def report(step: int, ctc: float, like: float, average: Weights) -> None:
        rates = [error_rate(average, waves, dev_targets) for waves in dev]
        log(
            f"step {step}: ctc {ctc:.3f} likeness {like:.3f} dev phone errors {' '.join(f'{r:.3f}' for r in rates)}"
        )
        best["rate"] = min(best["rate"], sum(rates))
        save(options.out / "taught.hama", {k: v.float().cpu().numpy() for k, v in average.items()})

    packaged = weights(taught, options.device)
    log(
        f"packaged: dev phone errors {' '.join(f'{error_rate(packaged, waves, dev_targets):.3f}' for waves in dev)}"
    )
    start = perf_counter()
    plan = Plan(
        steps=options.steps,
        samples=options.samples,
        rate=options.rate,
        likeness=options.likeness,
        half=options.device != "cpu",
    )
    final = teach(
        taught,
        prepared,
        plan,
        options.seed,
        report,
        options.every,
        stop=lambda: (perf_counter() - start) / 60 / options.minutes,
    )
    save(options.out / "taught.hama", final)
    waves = weights({**taught, **final}, options.device)
    log(f"taught: dev phone errors {' '.join(f'{error_rate(waves, w, dev_targets):.3f}' for w in dev)}")


def save(path: Path, tensors: dict[str, NDArray[np.float32]]) -> None:
    """Write a weight file whole or not at all."""
    archive.save(path.with_suffix(".part"), tensors)
    path.with_suffix(".part").replace(path)


def prepare(
    options: argparse.Namespace, taught: dict[str, NDArray[np.float32]], log: Callable[[str], None]
) -> tuple[corpus.Corpus, list[torch.Tensor], list[tuple[int, ...]], Lessons]:
    """Everything that is taught, and the dev sounds in quiet, 10 dB and 0 dB with their targets."""
    data, size = options.data, options.size
    said = phrases.texts(
        load_grammar(grammar_folder() / "commands.jsgf").graph(True), Random(options.seed), int(16_000 * size)
    )
    counts = {"espeak": int(14_000 * size), "flite": int(2_400 * size), "festival": int(2_400 * size)}
    made = corpus.synthesise("train", counts, options.seed, options.jobs, said)
    log(f"synthetic: {len(made.clips)} clips, {len(made.pcm) / 16000 / 3600:.2f} h")
    neural = taught_only(corpus.join([corpus.load(path) for path in sorted(data.glob("*_train*.json"))]))
    tested = corpus.tested_speakers(data)
    real = corpus.real(data, "train", tested=tested)
    log(
        f"neural: {len(neural.clips)} clips, {len(neural.pcm) / 3600 / 16000:.2f} h; real: {len(real.clips)} clips of {len({c.voice for c in real.clips})} speakers"
    )
    dev_part = corpus.join(
        [corpus.synthesise("dev", {"espeak": 160}, 11, options.jobs), corpus.real(data, "dev", tested=tested)]
    )
    everything = corpus.join([made, neural, real])
    # sources in fixed shares, whatever their sizes
    wanted = {"espeak": 0.30, "flite": 0.12, "festival": 0.08, "kokoro": 0.29, "gsc": 0.21}
    source = {c.voice: c.voice.split(":")[0].split("-")[0] for c in everything.clips}
    number = {name: sum(source[c.voice] == name for c in everything.clips) for name in wanted}

    def shares(kind: str, voice: str) -> float:
        return share(kind) * wanted[source[voice]] / max(1, number[source[voice]])

    bank = noise_bank(
        data,
        join_talk(everything),
        options.seed,
        options.jobs,
        int(600 * max(size, 0.05)),
        int(240 * max(size, 0.05)),
    )
    responses = np.stack(
        [rooms.response(np.random.default_rng([options.seed, n])) for n in range(int(400 * max(size, 0.05)))]
    )
    log(f"noise: {len(bank)} stretches of 10 s; {len(responses)} rooms")
    root = Path(__file__).parents[3]
    targets = Targets(root / "grammar" / "en" / "pronunciations.toml", HERE / "pronunciations.toml")
    known: dict[str, list[tuple[int, ...]]] = {}

    def candidates(text: str) -> list[tuple[int, ...]]:
        if text not in known:
            known[text] = targets(text)
        return known[text]

    teacher = {name: tensor.detach() for name, tensor in weights(taught, options.device).items()}
    talkers = int(240 * max(size, 0.05))
    prepared = lessons(everything, candidates, shares, bank, talkers, responses, teacher)
    dev_lessons = lessons(dev_part, candidates, lambda *_: 1.0, bank, talkers, responses, teacher, 0.0)
    kitchen = Kitchen(dev_lessons.bank, 99)
    chosen = torch.arange(len(dev_lessons.target) - 1, device=options.device)
    dev = []
    for low, high in ((35.0, 35.1), (10.0, 10.1), (0.0, 0.1)):
        kitchen.recipe = type(kitchen.recipe)(
            quiet=0.0, lowest_snr=low, highest_snr=high, slowest=1.0, fastest=1.001
        )
        dev.append(torch.cat([kitchen.batch(part, 64_000)[1] for part in chosen.split(128)]))
    dev_targets = [
        tuple(row[:n].tolist())
        for row, n in zip(dev_lessons.target[:-1], dev_lessons.target_length[:-1].tolist(), strict=True)
    ]
    return everything, dev, dev_targets, prepared


def taught_only(part: corpus.Corpus) -> corpus.Corpus:
    """Without the clips whose sentences are for testing only."""
    return corpus.Corpus(
        part.pcm, tuple(c for c in part.clips if not phrases.held_back(phrases.Sentence(c.text, c.kind)))
    )


def join_talk(everything: corpus.Corpus) -> corpus.Corpus:
    """Clips that may talk in the background: no real single words."""
    return corpus.Corpus(everything.pcm, tuple(c for c in everything.clips if c.kind != "real"))


if __name__ == "__main__":
    main()
