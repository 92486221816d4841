"""Several weight files in one run, the packaged and the fine-tuned ones, through the product's own decoder.

`python -m tests.bench.finetune.evaluate --data DIR --out FILE.json --weights finetuned.hama`; `tables` prints
the table.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
from collections.abc import Callable, Hashable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from assistant.asr.confidence import ALONE
from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork
from assistant.asr.phoneme import Expert, PhonemeRecogniser
from assistant.asr.search.judging import DecodingLimits
from assistant.batch.record.commands import Command
from assistant.config.language.pronunciations import read_pronunciations
from assistant.config.resources import grammar_folder
from assistant.nlu.grammar import Grammar, load_grammar
from assistant.ports import Asking, Sound
from assistant.testing.audio import own_words
from tests.bench.finetune.sound import conditions
from tests.bench.finetune.speech import corpus

FINE_TUNED_WORDS = Path(__file__).parents[3] / "assistant" / "asr" / "weights" / "kitchen.toml"
WORDS = {
    "digit": "zero | one | two | three | four | five | six | seven | eight | nine",
    "word": "yes | no | up | down | left | right | on | off | stop | go",
}
NUMBERS = """<number> = zero | <below> | <digit> hundred [[and] <below>] | <digit> <up>
    | <below> thousand [[and] <below> | <digit> hundred [[and] <below>]];
<below> = <digit> | <up>; <up> = ten | <teen> | <tens> [<digit>];
<digit> = one | two | three | four | five | six | seven | eight | nine;
<teen> = eleven | twelve | thirteen | fourteen | fifteen | sixteen | seventeen | eighteen | nineteen;
<tens> = twenty | thirty | forty | fifty | sixty | seventy | eighty | ninety;
"""
ANSWERS = {"yes", "no", "yes chef", "no chef"}


@dataclass(frozen=True, slots=True)
class Result:
    """One sentence recognised with one weight file."""

    weights: str
    """Name of the weight file."""
    part: str
    """command, talk, digit, word, number or other."""
    level: str
    """quiet, or the dB of voice over noise."""
    noise: str
    voice: str
    said: str
    heard: str
    right: bool
    cost: float
    margin: float


def plain(rules: str) -> Grammar:
    """A grammar of plain words."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plain.jsgf"
        path.write_text(f"#JSGF V1.0 UTF-8 en;\ngrammar plain;\n{rules}")
        return load_grammar(path)


def words_of(weights: Path) -> Path:
    """The words that a weight file was fine-tuned with: a file of its name beside it, or the shipped one."""
    own = weights.with_suffix(".toml")
    return own if own.exists() else FINE_TUNED_WORDS


class Candidate:
    """One weight file to evaluate, with a decoder for each grammar."""

    def __init__(self, name: str, weights: Path | None) -> None:
        self.name = name
        self._network = PhonemeNetwork(weights, weights="packaged")
        grammar = load_grammar(grammar_folder() / "commands.jsgf")
        pronunciations = read_pronunciations(
            grammar_folder() / "pronunciations.toml", None if weights is None else words_of(weights)
        )
        words = Lexicon(pronunciations, self._network.symbols)
        limits = DecodingLimits(alternatives=1)
        alone = ALONE["packaged" if weights is None else "kitchen"]

        def meaning(text: str, asking: Asking) -> Command | None:
            return grammar.parse(text, asking=asking)

        def decoder(
            what: Grammar, meaning: Callable[[str, Asking], Hashable | None] = own_words
        ) -> PhonemeRecogniser[Any]:
            return PhonemeRecogniser(
                [Expert(self._network, words)], what.layer, meaning=meaning, confidence=alone, limits=limits
            )

        self._meaning = meaning
        self._decoders = {
            "command": decoder(grammar, meaning),
            "number": decoder(plain("public " + NUMBERS)),
            **{part: decoder(plain(f"public <word> = {words};")) for part, words in WORDS.items()},
        }

    def hear(self, pcm: corpus.Pcm, part: str, level: str, noise: str, voice: str, said: str) -> Result:
        """Decode one sound and judge it."""
        decoder = self._decoders[part if part in self._decoders else "command"]
        asking = Asking.ANSWER if said in ANSWERS else Asking.NOTHING
        found = decoder.decode([self._network.log_probs(Sound(pcm))], asking=asking)
        if part == "command":
            right = found.meaning is not None and found.meaning == self._meaning(said, asking)
        else:
            right = found.text == said
        margin = min(found.margin, 99.0)
        return Result(
            self.name,
            part,
            level,
            noise,
            voice,
            said,
            found.text,
            right,
            round(found.cost, 3),
            round(margin, 2),
        )


def real_parts(folder: Path) -> Iterator[tuple[corpus.Pcm, str, str, str]]:
    """Real clips of the test folder by speakers never trained with: (samples, part, voice, text)."""
    import csv

    with (folder / "speech" / "manifest.csv").open() as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        path = folder / "speech" / row["file"]
        trained = "gsc" in row["speaker"] and corpus.speaker_split(row["speaker"]) != "test"
        if trained or not path.exists() or row["kind"] in ("noise", "rir"):
            continue
        pcm, kind, text = corpus._read(path), row["kind"], row["transcript"].lower()
        if kind == "digit":
            part = "digit" if "gsc" in row["speaker"] else "band"
        elif kind in ("spliced_number", "number_word") and set(text.split()) <= set(
            NUMBERS.replace("|", " ").split()
        ):
            part = "number"
        elif kind == "command" and text in WORDS["word"].split(" | "):
            part = "word"
        elif kind.startswith(("noncommand", "spelling", "two_talkers")):
            part = "other"
        else:
            continue
        yield pcm, part, row["speaker"], text


_CANDIDATES: list[Candidate] = []
_PLACES: list[conditions.Places] = []


def _open(files: list[tuple[str, Path | None]], data: Path) -> None:
    os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    _CANDIDATES[:] = [Candidate(*file) for file in files]
    _PLACES[:] = [conditions.Places(data)]


def _judge(job: Job) -> list[dict[str, Any]]:
    pcm = job.pcm if job.condition is None else _PLACES[0].heard(job.pcm, job.condition, job.seed)
    noise = job.condition.noise if job.condition else ""
    return [asdict(one.hear(pcm, job.part, job.level, noise, job.voice, job.said)) for one in _CANDIDATES]


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """A clip, and the condition it is put into (None: as it is)."""

    pcm: corpus.Pcm
    part: str
    level: str
    condition: conditions.Condition | None
    voice: str
    said: str
    seed: int


def jobs(data: Path, seed: int, workers: int, size: float) -> Iterator[Job]:
    """Everything to recognise."""
    graph = load_grammar(grammar_folder() / "commands.jsgf").graph(Asking.NOTHING)
    test = conditions.spoken(data, graph, seed, workers, int(240 * size), int(100 * size))
    for number, clip in enumerate(test.clips):
        part = "talk" if clip.kind == "talk" else "command"
        for condition in conditions.conditions(number):
            level = (
                "quiet"
                if condition.snr is None
                else f"{condition.snr:.0f}{' room' if condition.room else ''}"
            )
            yield Job(test.sound(clip), part, level, condition, clip.voice, clip.text, seed + number)
    for number, (pcm, part, voice, text) in enumerate(real_parts(data)):
        shown = "digit" if part == "band" else part
        yield Job(pcm, shown, "band" if part == "band" else "as it is", None, voice, text, 0)
        if part in ("digit", "word", "other"):
            for snr in (None, 10.0, 5.0):
                condition = conditions.Condition(snr, ("kneader", *conditions.TEST_NOISES)[number % 5])
                yield Job(
                    pcm,
                    shown,
                    "quiet" if snr is None else f"{snr:.0f}",
                    condition,
                    voice,
                    text,
                    seed + number,
                )
    places, rng = conditions.Places(data), np.random.default_rng(seed)
    for number in range(int(60 * size)):
        name = ("kneader", *conditions.TEST_NOISES)[number % 5]
        pcm = (places.noise(name, 48_000, rng).clip(-1, 1) * 20_000).astype(np.int16)
        yield Job(pcm, "talk", "noise alone", None, "", "", 0)


def main() -> None:
    """Run it."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument(
        "--weights", type=Path, action="append", default=[], help="weight file; may be given again"
    )
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parse.add_argument("--seed", type=int, default=2024)
    parse.add_argument("--size", type=float, default=1.0)
    parse.add_argument("--no-packaged", action="store_true")
    options = parse.parse_args()
    files: list[tuple[str, Path | None]] = [] if options.no_packaged else [("packaged", None)]
    files += [(path.stem, path) for path in options.weights]
    work = list(jobs(options.data, options.seed, options.jobs, options.size))
    with ProcessPoolExecutor(options.jobs, initializer=_open, initargs=(files, options.data)) as pool:
        results = [r for part in pool.map(_judge, work, chunksize=4) for r in part]
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_text(json.dumps(results))
    from tests.bench.finetune.tables import show

    show([Result(**r) for r in results])


if __name__ == "__main__":
    main()
