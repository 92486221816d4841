"""The 40 files that both machines hear."""

from pathlib import Path

import numpy as np

from assistant.app.application import open_application
from assistant.app.budgets import COMMANDS
from assistant.audio.motor import motor
from assistant.audio.resample import resample
from assistant.config.home import Home
from assistant.ports import SPEECH_RATE, Sound
from tests.wav import write_wav

LEVELS = {"quiet": -60.0, "motor": -40.0}
"""dBFS of the motor beside the voice."""


def write_sounds(folder: Path) -> None:
    """Write each command of a batch as a WAV file, in quiet and beside a motor."""
    folder.mkdir()
    voice = open_application(Home.find(folder.with_name("home"))).voice()
    for number, text in enumerate(COMMANDS):
        spoken = resample(voice.speak(text), SPEECH_RATE).pcm
        rest = np.zeros(SPEECH_RATE, np.int16)
        whole = np.concatenate([rest, spoken, rest]).astype(np.int32)
        for name, level in LEVELS.items():
            noise = motor(len(whole), level_dbfs=level, seed=number)
            mixed = np.clip(whole + noise, -32768, 32767).astype(np.int16)
            write_wav(folder / f"{number:02}-{name}.wav", Sound(mixed, SPEECH_RATE))
