# mypy: disable-error-code="import-not-found"
"""Fine-tunes the network with the speech that is there, writes its weight file.

`python -m tests.bench.finetune.fine_tune --data DIR --out DIR`

`--data` holds the corpora of the voices (`*_train*.json` with `.pcm` or `.ogg`, at any depth: see
`wide.program_corpus`, `speech.neural_corpus`) and the folders `speech`, `speech_train` and `speech_general`.
`--minutes` limits the training itself. Several cards train one network together (or apart, one each), each in
a process of its own; this one reads corpora again meanwhile and hands them on.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import tempfile
import time
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray

from tests.bench.finetune import archive
from tests.bench.finetune.network import Weights
from tests.bench.finetune.train import Cards, Plan, Student, fine_tune
from tests.bench.finetune.training_data import Dev, TrainingData, device_of, teachers
from tests.bench.finetune.training_set import TrainingSet


def arguments() -> argparse.Namespace:
    """The options of the command line."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument(
        "--start", type=Path, nargs="+", help="weight file to go on from (default: the packaged one)"
    )
    parse.add_argument(
        "--apart",
        action="store_true",
        help="each card trains a network of its own, with its own one of --start, --rate and --likeness",
    )
    parse.add_argument(
        "--teacher",
        type=Path,
        nargs="*",
        default=[],
        help="weight files that teach beside the packaged one, each what it hears better",
    )
    parse.add_argument("--spellings", type=Path, help="file of spelling_table (default: by rule)")
    parse.add_argument("--seed", type=int, default=7)
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parse.add_argument("--cards", type=int, default=max(1, torch.cuda.device_count()))
    parse.add_argument("--size", type=float, default=1.0, help="factor on the number of noises and rooms")
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
    parse.add_argument("--rate", type=float, nargs="+", default=[Plan().rate])
    parse.add_argument("--likeness", type=float, nargs="+", default=[Plan().likeness])
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
    with tempfile.TemporaryDirectory() as folder:
        exchange = Path(folder)
        publish(data.training_set(), exchange / "0.pt")
        publish(data.dev(), exchange / "dev.pt")
        log("training begins")
        cards = [
            multiprocessing.get_context("spawn").Process(target=follow, args=(options, exchange, number))
            for number in range(options.cards)
        ]
        for card in cards:
            card.start()
        started = perf_counter()
        for turn, due in enumerate(options.renew, 1):
            while perf_counter() - started < due * options.minutes * 60 and all(c.is_alive() for c in cards):
                time.sleep(0.2)  # noqa: TID251 - cards train meanwhile
            publish(data.training_set(), exchange / f"{turn}.pt")
        for card in cards:
            card.join()
    if any(card.exitcode for card in cards):
        raise SystemExit("a card stopped before the end")
    log("done")


def publish(thing: Any, path: Path) -> None:
    """Write what the cards read, whole or not at all."""
    torch.save(thing, path.with_suffix(".part"))
    path.with_suffix(".part").replace(path)


def fetch(path: Path, device: str) -> Any:
    """Read what was published."""
    return torch.load(path, map_location=device, weights_only=False)


def follow(options: argparse.Namespace, exchange: Path, number: int) -> None:
    """Train on one card of several, in a process of its own; training sets come in the folder `exchange`."""
    if options.device == "cuda":
        torch.cuda.set_device(number)
    device = device_of(options, number)
    together = options.cards > 1 and not options.apart
    if together:
        torch.distributed.init_process_group(
            "nccl" if options.device == "cuda" else "gloo",
            init_method=f"file://{exchange}/meet",
            rank=number,
            world_size=options.cards,
        )
    plan = Plan(
        steps=options.steps,
        samples=options.samples // options.cards,
        rate=options.rate[number % len(options.rate)],
        likeness=options.likeness[number % len(options.likeness)],
        rival=options.rival,
        half=options.device != "cpu",
    )
    file = options.start[number % len(options.start)] if options.start else None
    start = archive.read(file.read_bytes() if file else archive.packaged())
    cards = Cards(number, options.cards if together else 1)
    name = f"finetuned{number if options.apart else ''}"
    turns = iter(range(1, len(options.renew) + 1))
    turn = next(turns, None)
    ready = torch.zeros(1, device=device)
    began = perf_counter()
    dev: Dev = fetch(exchange / "dev.pt", "cpu")

    def renew(_used: float) -> TrainingSet | None:
        nonlocal turn
        if turn is None:
            return None
        path = exchange / f"{turn}.pt"
        ready.fill_(float(path.exists()))
        cards.mean([ready])
        if ready.item() < 1:
            return None
        turn = next(turns, None)
        found: TrainingSet = fetch(path, device)
        return found

    def report(step: int, losses: list[float], average: Weights) -> None:
        if number and together:
            return
        ctc, rivals, like = losses
        line = (
            f"{perf_counter() - began:7.1f} s  {name} step {step}: ctc {ctc:.3f} rivals {rivals:.3f} "
            f"likeness {like:.3f} dev phone errors: {dev.errors(average)}"
        )
        print(line, flush=True)
        with (options.out / "log.txt").open("a") as file:
            file.write(line + "\n")
        save(options.out / f"{name}.hama", {k: v.float().cpu().numpy() for k, v in average.items()})

    final = fine_tune(
        Student(start, teachers(options, device), plan, options.seed, cards),
        fetch(exchange / "0.pt", device),
        report,
        options.every,
        stop=lambda: (perf_counter() - began) / 60 / options.minutes,
        renew=renew,
    )
    if number == 0 or options.apart:
        save(options.out / f"{name}.hama", final)
    if together:
        torch.distributed.destroy_process_group()


def save(path: Path, tensors: dict[str, NDArray[np.float32]]) -> None:
    """Write a weight file whole or not at all."""
    archive.save(path.with_suffix(".part"), tensors)
    path.with_suffix(".part").replace(path)


if __name__ == "__main__":
    main()
