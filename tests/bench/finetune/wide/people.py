# mypy: disable-error-code="import-not-found"
"""Real people: the folder `speech_general`, split `train` alone (and `dev` to look at).

Sentences longer than a window of training are cut at pauses, where the packaged network hears a word end; the
cuts are made once (`python -m tests.bench.finetune.wide.people --data DIR --spellings FILE --out DIR`),
which also copies the chosen files, at most MOST_WORDS single words a speaker.
"""

from __future__ import annotations

import argparse
import csv
import json
import multiprocessing
import os
import re
import shutil
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import pairwise
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from tests.bench.finetune.archive import BLANK, BOUNDARY
from tests.bench.finetune.speech import corpus
from tests.bench.finetune.speech.voices import RATE

FOLDER = "speech_general"
LONGEST_S = 6.0
"""Seconds above which a sentence is cut."""
MOST_WORDS = 5
"""Single words of a speaker that are taken."""
DEV = 150
"""Sentences of the split `dev` to look at in training."""
FRAME = 320
"""Samples per frame of the network's output."""
_PAUSE = 6
"""Least frames between two words where a sentence may be cut."""

Cut = tuple[int, int, str]
"""First sample, samples, text."""


def plain(text: str) -> str:
    """A transcript in lower case without signs."""
    return " ".join(re.sub(r"[^a-z' ]", " ", text.lower()).split())


def rows(data: Path, split: str) -> list[dict[str, str]]:
    """Rows of the folder's table of a split, single words of a speaker limited, whose files are there."""
    taken: Counter[str] = Counter()
    found = []
    with (data / FOLDER / "manifest.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            word = row["kind"] == "word"
            if row["split"] != split or (word and taken[row["speaker"]] >= MOST_WORDS):
                continue
            if (data / FOLDER / row["file"]).exists():
                taken[row["speaker"]] += word
                found.append(row)
    return found


def clips(data: Path, split: str = "train") -> corpus.Corpus:
    """Sentences (kind `people`) and single words (`real`); none without the folder."""
    if not (data / FOLDER / "manifest.csv").exists():
        return corpus.collect([])
    path = data / FOLDER / "cuts.json"
    cuts: dict[str, list[Cut]] = json.loads(path.read_text()) if path.exists() else {}
    return corpus.collect(_clips(data, split, cuts))


def _clips(data: Path, split: str, cuts: dict[str, list[Cut]]) -> Iterator[tuple[corpus.Pcm, str, str, str]]:
    for row in rows(data, split):
        pcm = corpus._read(data / FOLDER / row["file"])
        voice = f"{'words' if row['kind'] == 'word' else 'people'}:{row['corpus']}/{row['speaker']}"
        kind = "real" if row["kind"] == "word" else "people"
        whole: list[Cut] = [(0, len(pcm), plain(row["transcript"]))]
        for start, samples, text in cuts.get(row["file"], whole):
            if text:
                yield pcm[start : start + samples], text, kind, voice


def aligned(log_probabilities: NDArray[np.float32], target: Sequence[int]) -> NDArray[np.int64]:
    """For each frame the place in a CTC target that sounds, or -1 for a blank, on the best path."""
    states = np.full(2 * len(target) + 1, BLANK)
    states[1::2] = target
    skip = np.zeros(len(states), bool)
    skip[3::2] = states[3::2] != states[1:-2:2]
    score = np.full(len(states), -np.inf)
    score[:2] = log_probabilities[0, states[:2]]
    steps = np.zeros((len(log_probabilities), len(states)), np.int8)
    for frame in range(1, len(log_probabilities)):
        ways = np.full((3, len(states)), -np.inf)
        ways[0] = score
        ways[1, 1:] = score[:-1]
        ways[2, 2:] = np.where(skip[2:], score[:-2], -np.inf)
        steps[frame] = ways.argmax(0)
        score = ways.max(0) + log_probabilities[frame, states]
    state = len(states) - 1 if score[-1] >= score[-2] else len(states) - 2
    found = np.full(len(log_probabilities), -1)
    for frame in range(len(log_probabilities) - 1, -1, -1):
        found[frame] = (state - 1) // 2 if state % 2 else -1
        state -= int(steps[frame, state])
    return found


def cut_at_pauses(
    pcm: corpus.Pcm, words: Sequence[str], target: Sequence[int], places: NDArray[np.int64], rng: Random
) -> list[Cut]:
    """Parts of a sentence of 1 to LONGEST_S seconds each, cut in the quietest frame of pauses."""
    number = np.cumsum([0, *(phone == BOUNDARY for phone in target)])[:-1]
    spoken = [frame for frame, place in enumerate(places) if place >= 0 and target[place] != BOUNDARY]
    power = np.square(pcm[: len(pcm) // FRAME * FRAME].astype(np.float64).reshape(-1, FRAME)).mean(1)
    least = np.median(power[power > power.max() * 1e-3]) * 0.03
    edges = [(0, 0)]
    for before, after in pairwise(spoken):
        one, other = int(number[places[before]]), int(number[places[after]])
        if other == one + 1 and after - before >= _PAUSE:
            quiet = (
                before + int(np.argmin(power[before : min(after, len(power))])) if before < len(power) else 0
            )
            if quiet and power[quiet] < least:
                edges.append((quiet * FRAME, other))
    edges.append((len(pcm), len(words)))
    found: list[Cut] = []
    at = 0
    while at < len(edges) - 1:
        wanted = rng.uniform(1.2, LONGEST_S) * RATE
        end = at + 1
        while end < len(edges) - 1 and edges[end + 1][0] - edges[at][0] < wanted:
            end += 1
        start, samples = edges[at][0], edges[end][0] - edges[at][0]
        text = " ".join(words[edges[at][1] : edges[end][1]])
        if text and samples <= LONGEST_S * RATE:
            found.append((start, samples, text))
        at = end
    return found


def _cut(data: Path, spellings: Path | None, chosen: Sequence[dict[str, str]]) -> dict[str, list[Cut]]:
    """Cuts of those that are too long."""
    import torch

    from tests.bench.finetune import archive
    from tests.bench.finetune.lexicon import Targets
    from tests.bench.finetune.network import output, weights

    torch.set_num_threads(1)
    packaged = weights(archive.read(archive.packaged()))
    targets = Targets(spellings=spellings)
    rng, cuts = Random(6), {}
    for row in chosen:
        pcm = corpus._read(data / FOLDER / row["file"])
        if row["split"] == "dev" or row["kind"] == "word" or len(pcm) < LONGEST_S * RATE:
            continue
        words = plain(row["transcript"]).split()
        target = targets.first(" ".join(words))
        sound = torch.from_numpy(pcm.astype(np.float32) / 32768)[None]
        with torch.no_grad():
            heard = output(packaged, sound + 2e-4 * torch.randn(sound.shape), half=False)[0].numpy()
        if len(heard) > 1.2 * len(target):
            places = aligned(heard, target)
            cuts[row["file"]] = cut_at_pauses(pcm, words, target, places, rng)
    return cuts


def main() -> None:
    """Cut the long sentences and copy the files that are trained with."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--spellings", type=Path)
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parse.add_argument("--out", type=Path, required=True)
    options = parse.parse_args()
    rng = Random(6)
    chosen = rows(options.data, "train")
    dev = [row for row in rows(options.data, "dev") if row["kind"] != "word"]
    chosen += rng.sample(dev, min(len(dev), DEV))
    for row in chosen:
        source = options.data / FOLDER / row["file"]
        target_file = options.out / FOLDER / row["file"]
        target_file.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(source, target_file)
    parts_of = [chosen[place :: options.jobs] for place in range(options.jobs)]
    with ProcessPoolExecutor(options.jobs, multiprocessing.get_context("spawn")) as pool:
        done = pool.map(partial(_cut, options.data, options.spellings), parts_of)
        cuts = {file: own for part in done for file, own in part.items()}
    (options.out / FOLDER / "cuts.json").write_text(json.dumps(cuts))
    with (options.out / FOLDER / "manifest.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(chosen[0]))
        writer.writeheader()
        writer.writerows(chosen)
    parts = [cut for one in cuts.values() for cut in one]
    hours = sum(samples for _, samples, _ in parts) / RATE / 3600
    print(f"{len(chosen)} files; {len(cuts)} cut into {len(parts)} parts, {hours:.2f} h")


if __name__ == "__main__":
    main()
