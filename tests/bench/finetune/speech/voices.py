# mypy: disable-error-code="import-untyped,import-not-found"
"""Synthetic voices of espeak-ng, flite, festival, RHVoice and Pico, each for training, dev or testing.

The engines are programs on the machine; `ENGINES_ROOT` names a folder that holds them (bin, lib, share) where
they are not installed (festival and RHVoice look for their data in /usr/share/festival and /usr/share/RHVoice
only). Pico is the package py-nanotts 0.1.1 of PyPI. Nothing of the engines is shipped: the network is only
trained with their sound. Voices: espeak-ng's own variants; flite's and festival's from CMU and the University
of Edinburgh (free for any use, the British ones with words from `diphones`, for their lexicon is not free);
RHVoice's three made from CMU's recordings (the recordings free for any use); Pico's from SVOX (Apache-2.0),
those of other languages saying English with an accent.
"""

from __future__ import annotations

import io
import os
import subprocess
import tempfile
import wave
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tests.bench.finetune.speech import accents, diphones

Wave = NDArray[np.float32]
Split = Literal["train", "dev", "test"]
RATE = 16_000


@dataclass(frozen=True, slots=True)
class Voice:
    """One voice; no voice belongs to two splits."""

    engine: Literal["espeak", "flite", "festival", "rhvoice", "pico"]
    name: str
    split: Split


_ACCENTS = ["en-us", "en-us", "en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland", "en-029"]
_TRAIN = [
    "m1",
    "m2",
    "m3",
    "m4",
    "m6",
    "m7",
    "m8",
    "f1",
    "f2",
    "f3",
    "f5",
    "Alex",
    "Alicia",
    "Andrea",
    "Andy",
    "Annie",
    "Denis",
    "Diogo",
    "Gene",
    "Henrique",
    "Hugo",
    "Jacky",
    "Lee",
    "Marco",
    "Mario",
    "Michael",
    "Mike",
    "Storm",
    "Tweaky",
    "adam",
    "anika",
    "announcer",
    "antonio",
    "aunty",
    "belinda",
    "benjamin",
    "boris",
    "caleb",
    "david",
    "edward",
    "grandma",
    "grandpa",
    "gustave",
    "iven",
    "iven2",
    "john",
    "kaukovalta",
    "klatt",
    "klatt2",
    "klatt4",
    "linda",
    "marcelo",
    "max",
    "michel",
    "norbert",
    "pablo",
    "paul",
    "pedro",
    "robert",
    "sandro",
    "shelby",
    "steph",
    "steph2",
    "travis",
    "zac",
]
_DEV = ["m5", "ed", "quincy", "steph3"]
_PICO_ACCENTS = {"it": "it-IT", "fr": "fr-FR", "es": "es-ES", "de": "de-DE"}
_TEST = ["f4", "iven3", "klatt3", "miguel", "rob", "victor"]

VOICES: tuple[Voice, ...] = (
    *(Voice("espeak", f"{accent}+{name}", "train") for name in _TRAIN for accent in sorted(set(_ACCENTS))),
    *(Voice("espeak", f"{accent}+{name}", "dev") for name in _DEV for accent in ("en-us", "en-gb")),
    *(Voice("espeak", f"{accent}+{name}", "test") for name in _TEST for accent in ("en-us", "en-gb")),
    Voice("flite", "kal16", "train"),
    Voice("flite", "awb", "train"),
    Voice("flite", "slt", "train"),
    Voice("flite", "rms", "test"),
    Voice("festival", "cmu_us_slt_arctic_hts", "train"),
    *(Voice("festival", name, "train") for name in ("kal_diphone", "rab_diphone") for _ in range(2)),
    Voice("festival", "don_diphone", "train"),
    Voice("festival", "ked_diphone", "test"),
    *(Voice("rhvoice", name, "train") for name in ("bdl", "clb", "slt")),
    # English ones twice: accents are half of what Pico says.
    *(Voice("pico", name, "train") for name in ("en-US", "en-GB", "en-US", "en-GB", *_PICO_ACCENTS)),
)


def of(split: Split, engine: str | None = None) -> list[Voice]:
    """Voices of a split."""
    return [voice for voice in VOICES if voice.split == split and engine in (None, voice.engine)]


def _environment() -> tuple[Path | None, dict[str, str]]:
    root = os.environ.get("ENGINES_ROOT")
    if not root:
        return None, dict(os.environ)
    found = {**os.environ, "LD_LIBRARY_PATH": f"{root}/lib", "ESPEAK_DATA_PATH": f"{root}/share"}
    return Path(root), found


def program(name: str) -> tuple[str, dict[str, str]]:
    """How to call an engine: its path and the environment that it needs."""
    root, environment = _environment()
    return (str(root / "bin" / name) if root else name), environment


def read_wav(data: bytes) -> tuple[Wave, int]:
    """Samples of a 16-bit WAV; espeak-ng's stream has no true length in its head."""
    with wave.open(io.BytesIO(data)) as file:
        rate = file.getframerate()
    start = data.index(b"data") + 8
    samples = np.frombuffer(data[start : start + (len(data) - start) // 2 * 2], "<i2")
    return np.asarray(samples / 32768, np.float32), int(rate)


def to_rate(sound: Wave, rate: int) -> Wave:
    """Resample to 16 kHz and cut the quiet ends, leaving 40 ms."""
    if rate != RATE:
        # Whole utterances are short: cut or widen the spectrum.
        n, wanted = len(sound), round(len(sound) * RATE / rate)
        sound = np.asarray(
            np.fft.irfft(np.fft.rfft(sound)[: wanted // 2 + 1], wanted) * (wanted / n), np.float32
        )
    peak = float(np.abs(sound).max(initial=0.0))
    if peak < 1e-4:
        return np.zeros(0, np.float32)
    loud = np.flatnonzero(np.abs(sound) > 0.01 * peak)
    return sound[max(0, loud[0] - 640) : loud[-1] + 640] * np.float32(0.5 / peak)


def _espeak(voice: Voice, texts: list[str], rng: Random) -> list[Wave]:
    path, environment = program("espeak-ng")
    sounds = []
    for text in texts:
        manner = [
            "-s",
            str(rng.randint(120, 215)),
            "-p",
            str(rng.randint(15, 85)),
            "-g",
            str(rng.choice([0, 0, 0, 2, 4])),
        ]
        out = subprocess.run(
            [path, "--stdout", "-v", voice.name, *manner, text],
            capture_output=True,
            env=environment,
            check=True,
        )
        sounds.append(to_rate(*read_wav(out.stdout)))
    return sounds


def _written(command: list[str], environment: dict[str, str], folder: str, text: str | None = None) -> Wave:
    """What a program writes into the file named with -o; `text`: what it reads."""
    said = Path(folder) / "said.wav"
    read = None if text is None else text.encode()
    subprocess.run([*command, "-o", str(said)], input=read, env=environment, check=True, capture_output=True)
    return to_rate(*read_wav(said.read_bytes()))


def _flite(voice: Voice, texts: list[str], rng: Random) -> list[Wave]:
    path, environment = program("flite")
    sounds = []
    with tempfile.TemporaryDirectory() as folder:
        for text in texts:
            manner = ["--setf", f"duration_stretch={rng.uniform(0.8, 1.3):.2f}"]
            sounds.append(_written([path, "-voice", voice.name, *manner, "-t", text], environment, folder))
    return sounds


def _festival(voice: Voice, texts: list[str], rng: Random) -> list[Wave]:
    path, environment = program("festival")
    with tempfile.TemporaryDirectory() as folder:
        british = voice.name in diphones.BRITISH
        lines = [*(diphones.LEXICON if british else ()), f"(voice_{voice.name})"]
        for number, text in enumerate(texts):
            if voice.name.endswith("_diphone"):
                # Of its own it has the pitch of one man; the model's numbers are festival's.
                pitch, lively = rng.uniform(75, 190), rng.uniform(0.08, 0.2)
                lines.append(
                    f"(set! int_lr_params '((target_f0_mean {pitch:.0f}) (target_f0_std {lively * pitch:.0f})"
                    " (model_f0_mean 170) (model_f0_std 34)))"
                )
            if british:
                lines += diphones.entries(text, lambda word: ipa(word, "en-gb-x-rp"), rng)
            lines += [
                f"(Parameter.set 'Duration_Stretch {rng.uniform(0.8, 1.25):.2f})",
                f'(set! u (Utterance Text "{text}"))',
                f'(utt.synth u) (utt.save.wave u "{folder}/{number}.wav" \'riff)',
            ]
        script = Path(folder) / "say.scm"
        script.write_text("\n".join(lines))
        subprocess.run([path, "--batch", str(script)], env=environment, check=True, capture_output=True)
        return [
            to_rate(*read_wav((Path(folder) / f"{number}.wav").read_bytes())) for number in range(len(texts))
        ]


def _rhvoice(voice: Voice, texts: list[str], rng: Random) -> list[Wave]:
    path, environment = program("RHVoice-test")
    sounds = []
    with tempfile.TemporaryDirectory() as folder:
        for text in texts:
            manner = ["-r", str(rng.randint(75, 135)), "-t", str(rng.randint(75, 130))]
            sounds.append(_written([path, "-p", voice.name, *manner], environment, folder, text))
    return sounds


@cache
def ipa(text: str, accent: str) -> str:
    """IPA of a sentence by espeak-ng, one line."""
    name, environment = program("espeak-ng")
    out = subprocess.run(
        [name, "-q", "--ipa", "-v", accent, text],
        capture_output=True,
        text=True,
        check=True,
        env=environment,
    )
    return " ".join(out.stdout.split())


def _pico(voice: Voice, texts: list[str], rng: Random) -> list[Wave]:
    try:
        import py_nanotts
    except ImportError as error:
        raise ModuleNotFoundError(
            f"voice {voice.name} of pico: py_nanotts cannot be imported ({error}); "
            "install py-nanotts or leave pico out"
        ) from error
    engine = py_nanotts.NanoTTS()
    sounds = []
    for text in texts:
        # Tags of our own, left open: with closing ones the last sound comes back to full level and clicks; at
        # full level the voices clip.
        manner = (
            f'<speed level="{rng.randint(75, 130)}"><pitch level="{rng.randint(70, 145)}"><volume level="40">'
        )
        said = accents.marked(ipa(text, "en-us"), voice.name) if voice.name in _PICO_ACCENTS else text
        pcm = engine.speak(manner + said, voice=_PICO_ACCENTS.get(voice.name, voice.name))
        sounds.append(to_rate(np.asarray(np.frombuffer(pcm, "<i2") / 32768, np.float32), RATE))
    return sounds


def say(voice: Voice, texts: list[str], seed: int) -> list[Wave]:
    """The texts spoken by a voice at 16 kHz, peak 0.5; tempo and pitch vary with the seed."""
    engines = {
        "espeak": _espeak,
        "flite": _flite,
        "festival": _festival,
        "rhvoice": _rhvoice,
        "pico": _pico,
    }
    return engines[voice.engine](voice, texts, Random(seed))
