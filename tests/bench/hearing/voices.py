"""Synthetic voices: text to 16 kHz sound, disjoint for tuning and testing.

Programs that Debian has, and the neural voices of `tests/bench/finetune/speech/neural_voices.py` where
CRUMBCALL_VOICES names the folder of their packages.
"""

import importlib.util
import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.audio.files import read_sound
from assistant.ports import Pcm
from tests.bench.hearing.sentences import Part

_NEURAL = ("kokoro", "joe")


@dataclass(frozen=True)
class Speaker:
    """A voice of a program. `rate`: words a minute (espeak-ng only)."""

    program: str
    voice: str
    rate: int = 165

    @property
    def name(self) -> str:
        return f"{self.program} {self.voice}"


VOICES: dict[Part, tuple[Speaker, ...]] = {
    "tune": (
        Speaker("espeak-ng", "en-us+m5"),
        Speaker("espeak-ng", "en-gb+ed", 150),
        Speaker("espeak-ng", "en-us+quincy", 160),
        Speaker("espeak-ng", "en-gb+steph3", 170),
        Speaker("flite", "awb"),
        Speaker("flite", "slt"),
        Speaker("festival", "voice_kal_diphone"),
    ),
    "test": (
        Speaker("espeak-ng", "en-us+f4", 155),
        Speaker("espeak-ng", "en-gb+iven3", 165),
        Speaker("espeak-ng", "en-us+klatt3", 160),
        Speaker("espeak-ng", "en-gb-x-gbcwmd+miguel", 165),
        Speaker("espeak-ng", "en-us-nyc+rob", 175),
        Speaker("espeak-ng", "en-gb+victor", 150),
        Speaker("flite", "rms"),
        Speaker("festival", "voice_ked_diphone"),
        Speaker("kokoro", "jf_nezumi"),
        Speaker("kokoro", "af_nova"),
        Speaker("kokoro", "am_michael"),
        Speaker("kokoro", "bf_lily"),
        Speaker("kokoro", "bm_fable"),
        Speaker("joe", "joe"),
    ),
}
"""No network was trained with the test voices; `voices.py` and `neural_voices.py` of
`tests/bench/finetune/speech` say with which."""


def neural_folder() -> Path | None:
    """Folder of the neural voices' packages (CRUMBCALL_VOICES), where it is given and can be used."""
    folder = Path(os.environ.get("CRUMBCALL_VOICES") or "-")
    return folder if folder.is_dir() and importlib.util.find_spec("onnxruntime") else None


def available(part: Part) -> list[Speaker]:
    """Voices whose program, or package, is on this machine."""
    neural = neural_folder() is not None
    return [
        voice
        for voice in VOICES[part]
        if (neural if voice.program in _NEURAL else shutil.which(voice.program))
    ]


def speak(voice: Speaker, texts: Sequence[str]) -> list[Pcm]:
    """Sound of each text, silence at both ends cut off."""
    if voice.program in _NEURAL:
        return _neural(voice, texts)
    with tempfile.TemporaryDirectory() as folder:
        files = [Path(folder) / f"{number}.wav" for number in range(len(texts))]
        if voice.program == "festival":
            _festival(voice, texts, files)
        for text, file in zip(texts, files, strict=True):
            if voice.program == "espeak-ng":
                _run("espeak-ng", "-v", voice.voice, "-s", str(voice.rate), "-w", str(file), text)
            elif voice.program == "flite":
                _run("flite", "-voice", voice.voice, "-t", text, "-o", str(file))
        return [trimmed(read_sound(file).pcm) for file in files]


def _neural(voice: Speaker, texts: Sequence[str]) -> list[Pcm]:
    """Neural voices at their usual pace."""
    from tests.bench.finetune.speech.neural_voices import Joe, Kokoro
    from tests.bench.finetune.speech.voices import to_rate

    folder = neural_folder()
    assert folder is not None
    if voice.program == "joe":
        joe = Joe(folder)
        waves = [to_rate(joe.speak(text, "en-us", 1.0), joe.rate) for text in texts]
    else:
        kokoro = Kokoro(folder)
        accent = "en-gb" if voice.voice[0] == "b" else "en-us"
        style = kokoro.styles[voice.voice]
        waves = [to_rate(kokoro.speak(text, accent, style, 1.0), kokoro.rate) for text in texts]
    return [trimmed(np.rint(wave * 32767).astype(np.int16)) for wave in waves]


def _festival(voice: Speaker, texts: Sequence[str], files: Sequence[Path]) -> None:
    """One process for all: loading a voice takes longer than speaking."""
    lines = [f"({voice.voice})"]
    lines += [
        f'(utt.save.wave (utt.synth (Utterance Text "{text}")) "{file}" \'riff)'
        for text, file in zip(texts, files, strict=True)
    ]
    script = files[0].parent / "speak.scm"
    script.write_text("\n".join(lines))
    _run("festival", "--batch", str(script))


def _run(*command: str) -> None:
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def trimmed(pcm: Pcm, below_peak_db: float = 40.0) -> Pcm:
    """Without the quiet at both ends: 10 ms frames further below the loudest one."""
    frame = 160
    whole = pcm[: len(pcm) // frame * frame].reshape(-1, frame).astype(np.float64)
    power = np.mean(np.square(whole), axis=1)
    loud = np.flatnonzero(power > power.max() * 10 ** (-below_peak_db / 10))
    return pcm[loud[0] * frame : (loud[-1] + 1) * frame]
