"""Synthetic voices: text to 16 kHz sound by programs that Debian has, disjoint for tuning and testing."""

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
        Speaker("espeak-ng", "en-us"),
        Speaker("espeak-ng", "en-us+f2", 150),
        Speaker("espeak-ng", "en-gb-scotland+m3", 160),
        Speaker("espeak-ng", "en-gb-x-gbcwmd+f1", 170),
        Speaker("espeak-ng", "en-us-nyc+m6", 175),
        Speaker("flite", "awb"),
        Speaker("flite", "rms"),
    ),
    "test": (
        Speaker("espeak-ng", "en-gb"),
        Speaker("espeak-ng", "en-gb-x-rp+f4", 155),
        Speaker("espeak-ng", "en-gb-x-gbclan+m7", 170),
        Speaker("espeak-ng", "en-029+f3", 150),
        Speaker("espeak-ng", "en-us+klatt4", 160),
        Speaker("espeak-ng", "en-us+m4", 180),
        Speaker("flite", "slt"),
        Speaker("flite", "kal16"),
        Speaker("festival", "voice_ked_diphone"),
        Speaker("festival", "voice_kal_diphone"),
        Speaker("festival", "voice_cmu_us_slt_arctic_hts"),
    ),
}
"""The same recorded people (kal, slt) stand on one side only; espeak-ng's variants are one synthesiser throughout."""


def available(part: Part) -> list[Speaker]:
    """Voices whose program is on this machine."""
    return [voice for voice in VOICES[part] if shutil.which(voice.program)]


def speak(voice: Speaker, texts: Sequence[str]) -> list[Pcm]:
    """Sound of each text, silence at both ends cut off."""
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
