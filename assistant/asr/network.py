"""The phoneme network: sound to log-probabilities of phones, 50 frames a second.

The only place that knows the library that runs it. Its raw output is not a documented call, so the version is
pinned in pyproject.toml and the weights are known by their hash.
"""

import hashlib
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from assistant.errors import ModelError
from assistant.ports import SPEECH_RATE, Pcm, Sound

Weights = Literal["kitchen", "packaged"]
"""Which weights: fine-tuned beside a motor with the kitchen's words, or as the library has them."""
WEIGHTS_SHA256: dict[Weights, str] = {
    "kitchen": "01e1dd25ceb4b59397aa1e0bd80649bf47fabc48a04a1c8deb9bac62616b2f89",
    "packaged": "a9fcfe73e179ca48e399cd76a90a6b3e1887bf5037ecc52b778d13a149563328",
}
"""SHA-256 of `weights/kitchen.hama`, and of the English weights in hama 1.7.0 (measured from the wheel)."""
FRAME_SECONDS = 0.02
"""Length of a frame: 320 samples at 16 kHz (`ASR_OUTPUT_FRAME_SAMPLES` of the library)."""
DITHER_RMS = 4.0
DITHER_BELOW_DB = 40.0
"""Noise that is laid under the sound: this far below the voice, and never less than 4 steps of 16 bits.

In silence of exact zeros, as a closed gate or a trimmed file gives, the network imagines consonants or loses words: no
microphone that taught it was so quiet. Of 84 synthetic commands of seven voices between 0.3 s of zeros, at full level, 79
were right with the 4 steps alone, 82 with noise 60 dB below the voice, 84 with 50 to 30 dB.
"""
_WEIGHTS_MAGIC = b"HAMAPK"


class PhonemeNetwork:
    """English phoneme CTC network.

    `ear`: the weights taught to listen beside a motor (`weights/README.md` is their card), or those that come with
    the library; `model_path`: any others of the same architecture, instead. A file of the same name that ends in
    .toml holds words as the weights were taught to write them.
    Raises ModelError when the library or the weights can't be used.
    """

    def __init__(self, model_path: Path | None = None, *, ear: Weights = "kitchen") -> None:
        try:
            from hama import asr
        except (ImportError, OSError) as error:
            raise ModelError(
                f"The phoneme network's library can't be loaded ({error}); install hama 1.7.0 for this machine."
            ) from None
        shipped = {
            "kitchen": Path(__file__).parent / "weights" / "kitchen.hama",
            "packaged": Path(asr.__file__).parent / "assets" / "asr_waveform.hama",
        }
        weights = model_path or shipped[ear]
        _check_weights(weights, None if model_path else WEIGHTS_SHA256[ear])
        try:
            self._model: Any = asr.ASRModel(model_path=weights)
        except (RuntimeError, OSError) as error:
            raise ModelError(
                f"The phoneme network {weights} can't be loaded ({error}); install hama 1.7.0 anew."
            ) from None
        beside = weights.with_suffix(".toml")
        self.words: Path | None = beside if beside.is_file() else None
        """How these weights were taught to write the kitchen's words, if they were."""
        self.symbols: tuple[str, ...] = tuple(self._model.decoder_tokens)
        self.blank = self.symbols.index("<blank>")
        self.boundary = self.symbols.index("<wb>")
        # The same noise for every sound: hearing the same twice gives the same.
        self._dither = np.random.default_rng(0).standard_normal(SPEECH_RATE).astype(np.float32)

    def waveform(self, sound: Sound) -> NDArray[np.float32]:
        """What the network is given: the sound, -1 to 1, with noise laid under it."""
        rms = max(DITHER_RMS, voice_rms(sound.pcm) * 10 ** (-DITHER_BELOW_DB / 20))
        heard = sound.pcm + np.float32(rms) * np.resize(self._dither, len(sound.pcm))
        return np.asarray(heard / np.float32(32768), np.float32)

    def log_probs(self, sound: Sound) -> NDArray[np.float32]:
        """Natural log-probabilities, shape (frames, symbols), of sound at `SPEECH_RATE`."""
        if sound.rate != SPEECH_RATE:
            raise ValueError(f"sound at {sound.rate} Hz; the network hears {SPEECH_RATE} Hz")
        waveform = self.waveform(sound)[np.newaxis]
        feeds = {"waveform": waveform, "waveform_lengths": np.array([waveform.shape[1]])}
        found, lengths = self._model.session.run(["log_probs", "out_lengths"], feeds)
        return np.asarray(found[0, : int(lengths[0])], dtype=np.float32)


def voice_rms(pcm: Pcm, frame: int = 320) -> float:
    """RMS of the frames within 10 dB of the loudest, steps of 16 bits; 0.0 of what is shorter than a frame."""
    whole = pcm[: len(pcm) // frame * frame].reshape(-1, frame).astype(np.float32)
    power = np.square(whole).mean(axis=1)
    return float(np.sqrt(power[power >= power.max() / 10].mean())) if len(power) else 0.0


def _check_weights(path: Path, sha256: str | None) -> None:
    """The library's own loader trusts the file: look at it first."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ModelError(
            f"The phoneme network {path} can't be read ({error.strerror}); give a .hama file or leave the setting out."
        ) from None
    if not data.startswith(_WEIGHTS_MAGIC):
        raise ModelError(f"{path} is no phoneme network; give a .hama file or leave the setting out.")
    if sha256 is not None and hashlib.sha256(data).hexdigest() != sha256:
        raise ModelError(
            f"The phoneme network {path} is damaged or of another version; run hardware/setup.sh anew."
        )
