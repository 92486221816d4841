"""Writes a corpus of the programs' voices to train with: `... program_corpus --engine espeak=600 --out FILE`.

Sentences are commands, kitchen talk and, with `--wide`, wide text. Several runs with seeds of their own make
parts that a training reads as they come (`*_train*.json`).
"""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from tests.bench.finetune.speech import corpus
from tests.bench.finetune.speech.neural_corpus import said
from tests.bench.finetune.speech.voices import RATE
from tests.bench.finetune.wide import wide_text


def main() -> None:
    """Run it."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--engine", action="append", required=True, help="name=sentences; may be given again")
    parse.add_argument("--wide", type=Path, help="file of wide_text")
    parse.add_argument("--share", type=float, default=0.4, help="how much of the sentences is wide text")
    parse.add_argument("--seed", type=int, default=7)
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parse.add_argument("--out", type=Path, required=True)
    options = parse.parse_args()
    counts = {name: int(n) for name, n in (engine.split("=") for engine in options.engine)}
    wide = wide_text.read(options.wide) if options.wide else None
    sentences = said("train", options.seed, max(400, sum(counts.values())), wide, options.share)
    made = corpus.synthesise("train", counts, options.seed, options.jobs, sentences)
    made.save(options.out)
    print(f"{len(made.clips)} clips, {len(made.pcm) / RATE / 3600:.2f} h")


if __name__ == "__main__":
    main()
