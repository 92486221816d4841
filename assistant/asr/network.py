"""The phoneme networks: sound to log-probabilities of phones, 50 frames a second.

The library has the packaged weights and the names of the symbols; its version is pinned in pyproject.toml,
and the weights are checked by their hash. What computes with them is `assistant.asr.conformer`.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from assistant.asr.conformer import Conformer
from assistant.asr.weight_file import MAGIC, read
from assistant.errors import ModelError
from assistant.ports import SPEECH_RATE, Pcm, Sound

Weights = Literal["kitchen", "packaged"]
"""Which weights: fine-tuned beside a motor with the kitchen's words, or as the library has them."""
Listening = Literal["both", "kitchen", "packaged"]
"""Which networks listen."""


@dataclass(frozen=True, slots=True)
class _Shipped:
    """Weights that are installed with the program."""

    path: Callable[[], Path]
    sha256: str


def named(listening: Listening) -> tuple[Weights, ...]:
    """Weights that listen, the fine-tuned ones first."""
    return ("kitchen", "packaged") if listening == "both" else (listening,)


def digest(weights: Weights) -> str:
    """SHA-256 of weights that ship."""
    return _SHIPPED[weights].sha256


def _packaged() -> Path:
    from hama import asr

    return Path(asr.__file__).parent / "assets" / "asr_waveform.hama"


_SHIPPED: dict[Weights, _Shipped] = {
    "kitchen": _Shipped(
        lambda: Path(__file__).parent / "weights" / "kitchen.hama",
        "b914c2ee23bcdf9a6e0cdd9757a67d908ffd02e583702db51991e94e8a040401",
    ),
    # The English weights in the wheel of hama 1.7.0; the digest was measured there.
    "packaged": _Shipped(_packaged, "a9fcfe73e179ca48e399cd76a90a6b3e1887bf5037ecc52b778d13a149563328"),
}
BOUNDARY = "<wb>"
"""Symbol of the library for the end of a word."""
FRAME = SPEECH_RATE // 50
"""Samples of a frame: 320 (`ASR_OUTPUT_FRAME_SAMPLES` of the library)."""
DITHER_RMS = 4.0
DITHER_BELOW_DB = 40.0
"""Noise that is added to the sound: this far below the voice, and never less than 4 steps of 16 bits.

In silence of exact zeros, as in a trimmed file or behind a closed gate, the network imagines consonants or
loses words: none of its training data was this quiet. Of 84 synthetic commands of seven voices between 0.3 s
of zeros, at full level, 79 were right with the 4 steps alone, 82 with noise 60 dB below the voice, 84 with 50
to 30 dB.
"""


class PhonemeNetwork:
    """English phoneme CTC network.

    `weights`: which of those that ship (`weights/README.md` is the model card of "kitchen"); `model_path`:
    any others of the same architecture instead. A file of the same name that ends in .toml holds the
    pronunciations with which the weights were fine-tuned. Raises ModelError when the library or the weights
    can't be used.
    """

    def __init__(self, model_path: Path | None = None, *, weights: Weights = "kitchen") -> None:
        try:
            from hama.vocab import Vocabulary

            tokens = Vocabulary.load().decoder
        except (ImportError, OSError) as error:
            raise ModelError(
                f"The phoneme network's library can't be loaded ({error}); "
                "install hama 1.7.0 for this machine."
            ) from None
        shipped = _SHIPPED[weights]
        path = model_path or shipped.path()
        data = _read_weights(path, None if model_path else shipped.sha256)
        self.sha256 = hashlib.sha256(data).hexdigest()
        """Which weights these are."""
        try:
            self._model = Conformer(read(data))
        except (ValueError, KeyError) as error:
            raise ModelError(
                f"The phoneme network {path} can't be loaded ({error}); "
                "give a whole .hama file of the packaged network's shape."
            ) from None
        words = path.with_suffix(".toml")
        self.words: Path | None = words if words.is_file() else None
        """Pronunciations with which these weights were fine-tuned; None where they were not."""
        self.symbols: tuple[str, ...] = (*tokens, "<wb>", "<blank>")
        self.blank = self.symbols.index("<blank>")
        self.boundary = self.symbols.index(BOUNDARY)
        # The same noise for every sound: the same sound always gives the same output.
        self._dither = np.random.default_rng(0).standard_normal(SPEECH_RATE).astype(np.float32)

    def waveform(self, sound: Sound) -> NDArray[np.float32]:
        """What the network gets: the sound, -1 to 1, with the noise added."""
        rms = max(DITHER_RMS, voice_rms(sound.pcm) * 10 ** (-DITHER_BELOW_DB / 20))
        heard = sound.pcm + np.float32(rms) * np.resize(self._dither, len(sound.pcm))
        return np.asarray(heard / np.float32(32768), np.float32)

    def log_probs(self, sound: Sound) -> NDArray[np.float32]:
        """Natural log-probabilities, shape (frames, symbols), of sound at `SPEECH_RATE`."""
        if sound.rate != SPEECH_RATE:
            raise ValueError(f"sound at {sound.rate} Hz; the network hears {SPEECH_RATE} Hz")
        return self._model.log_probs(self.waveform(sound))


def voice_rms(pcm: Pcm, frame: int = FRAME) -> float:
    """RMS of the frames within 10 dB of the loudest, steps of 16 bits.

    0.0 of what is shorter than a frame.
    """
    whole = pcm[: len(pcm) // frame * frame].reshape(-1, frame).astype(np.float32)
    power = np.square(whole).mean(axis=1)
    return float(np.sqrt(power[power >= power.max() / 10].mean())) if len(power) else 0.0


def _read_weights(path: Path, sha256: str | None) -> bytes:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ModelError(
            f"The phoneme network {path} can't be read ({error.strerror}); "
            "give a .hama file or leave the setting out."
        ) from None
    if not data.startswith(MAGIC):
        raise ModelError(f"{path} is not a phoneme network; give a .hama file or leave the setting out.")
    if sha256 is not None and hashlib.sha256(data).hexdigest() != sha256:
        raise ModelError(
            f"The phoneme network {path} is damaged or of another version; run hardware/setup.sh again."
        )
    return data
