# mypy: disable-error-code="import-not-found"
"""Writes a corpus of a neural voice: `python -m tests.bench.finetune.speech.neural_corpus KIND ...`.

`train`: the styles for training, and mixtures; `vits`: the man of `vits_voice`, for training; `test`: the
styles kept back; `joe`: the voice kept back. What is made so far is written now and then, whole or not at
all. `--device cuda:0` makes Kokoro's on a graphics card.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from assistant.config.resources import grammar_folder
from assistant.nlu.grammar import load_grammar
from assistant.ports import Asking
from tests.bench.finetune.speech import corpus, phrases
from tests.bench.finetune.speech.neural_voices import FOREIGN, PAUSED, VARIED, Joe, Kokoro
from tests.bench.finetune.speech.talk import TEST_TALK
from tests.bench.finetune.speech.vits_voice import Vits
from tests.bench.finetune.speech.voices import to_rate
from tests.bench.finetune.wide import wide_text

Clip = tuple[NDArray[np.float32], str, str, str]
"""Sound at 16 kHz, its text, kind and voice."""


def said(
    kind: str, seed: int, n: int, wide: wide_text.WideText | None = None, share: float = 0.5
) -> list[phrases.Sentence]:
    """Sentences to train with, or (seven in ten commands) to test with.

    `wide`: text of which so large a share of the sentences to train with is.
    """
    rng = Random(seed)
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    if kind in ("train", "vits"):
        more = [wide.draw(rng) for _ in range(int(n * share))] if wide else []
        found = phrases.texts(grammar.graph(Asking.ANSWER), rng, n - len(more)) + more
        rng.shuffle(found)
        return found
    commands = phrases.test_sentences(grammar.graph(Asking.NOTHING), rng, n * 7 // 10)
    talk = [
        phrases.Sentence(text, "talk")
        for text in rng.sample(TEST_TALK, min(len(TEST_TALK), n - len(commands)))
    ]
    return commands + talk


def paused(text: str, rng: Random) -> str:
    """The text, now and then with a short pause after its first word."""
    first, _, rest = text.partition(" ")
    return f"{first}, {rest}" if rest and rng.random() < PAUSED else text


def vits(folder: Path, sentences: list[phrases.Sentence], seed: int) -> Iterator[Clip]:
    """The sentences said by the man of `vits_voice`, without those that he cannot say."""
    import torch

    torch.set_num_threads(1)
    rng, voice = Random(seed), Vits(folder)
    for sentence in sentences:
        sound = voice.speak(paused(sentence.text, rng), rng.uniform(0.75, 1.3), rng)
        if len(sound) > 2000:
            yield to_rate(sound, voice.rate), sentence.text, sentence.kind, "vits:tiny"


def spoken(
    kind: str, folder: Path, sentences: list[phrases.Sentence], seed: int, device: str | None = None
) -> Iterator[Clip]:
    """The sentences said by the voices of a kind."""
    if kind == "vits":
        yield from vits(folder, sentences, seed)
        return
    rng = Random(seed)
    kokoro, joe = (None, Joe(folder)) if kind == "joe" else (Kokoro(folder, device=device), None)
    for sentence in sentences:
        speed = rng.uniform(0.8, 1.3)
        text = paused(sentence.text, rng)
        if joe is not None:
            sound, rate, name = joe.speak(text, "en-us", speed), joe.rate, "joe:joe"
        elif kokoro is not None:
            style_name, style = kokoro.style(rng, test=kind == "test")
            british = style_name[0] == "b" or rng.random() < 0.15
            accent = ("en-gb-scotland" if rng.random() < 0.1 else "en-gb") if british else "en-us"
            foreign = kind == "train" and rng.random() < FOREIGN
            vary = rng if kind == "train" and rng.random() < VARIED else None
            sound = kokoro.speak(text, accent, style, speed, foreign=foreign, vary=vary)
            rate = kokoro.rate
            name = f"kokoro:{style_name}"
        if len(sound) > 2000:
            yield to_rate(sound, rate), sentence.text, sentence.kind, name


def main() -> None:
    """Run it."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("kind", choices=["train", "vits", "test", "joe"])
    parse.add_argument("--voices", type=Path, required=True, help="folder with the unpacked voice packages")
    parse.add_argument("--out", type=Path, required=True, help="for training: *_train, for testing: *_test")
    parse.add_argument("--seed", type=int, default=303)
    parse.add_argument("--sentences", type=int, default=2000)
    parse.add_argument("--every", type=int, default=50, help="sentences after which what is made is written")
    parse.add_argument("--wide", type=Path, help="file of wide_text, to train with")
    parse.add_argument("--share", type=float, default=0.5, help="how much of the sentences is wide text")
    parse.add_argument("--device", help="where Kokoro runs (default: the processor, in 8 bits)")
    options = parse.parse_args()
    wide = wide_text.read(options.wide) if options.wide else None
    sentences = said(options.kind, options.seed, options.sentences, wide, options.share)
    made: list[tuple[NDArray[np.int16], str, str, str]] = []
    for sound, text, kind, voice in spoken(
        options.kind, options.voices, sentences, options.seed, options.device
    ):
        made.append((np.round(sound * 32767).astype(np.int16), text, kind, voice))
        if len(made) % options.every == 0:
            corpus.collect(made).save(options.out)
    corpus.collect(made).save(options.out)


if __name__ == "__main__":
    main()
