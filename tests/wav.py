"""WAV files for tests."""

import wave
from pathlib import Path

from assistant.ports import Sound


def write_wav(path: Path, sound: Sound) -> None:
    """Write a mono 16-bit WAV."""
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, sound.rate, 0, "NONE", ""))
        file.writeframes(sound.pcm.astype("<i2").tobytes())
