"""Sound files: read any that libsndfile knows (WAV, FLAC, Ogg ...) as the recognisers need it."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.audio.resample import Resampler
from assistant.errors import SoundError
from assistant.ports import SPEECH_RATE, Pcm, Sound

_BLOCK_FRAMES = 65_536


def read_sound(path: Path, rate: int = SPEECH_RATE) -> Sound:
    """Whole file as mono int16 at `rate` Hz, channels averaged.

    SoundError when it can't be read or is empty.
    """
    return Sound(np.concatenate(list(sound_blocks(path, rate))), rate)


def sound_blocks(path: Path, rate: int = SPEECH_RATE) -> Iterator[Pcm]:
    """The same block by block, so that a long recording need not fit into memory."""
    import soundfile

    if path.exists() and not (path.is_file() or path.is_dir()):  # a pipe would be waited for without end
        raise SoundError(f"{path} is a pipe or a device; give a WAV or FLAC file.")
    try:
        with soundfile.SoundFile(path) as file:
            resampler = Resampler(file.samplerate, rate)
            frames = 0
            for block in file.blocks(_BLOCK_FRAMES, dtype="float32", always_2d=True):
                frames += len(block)
                yield resampler.feed(_mono(block))
            yield resampler.flush()
    except (OSError, soundfile.SoundFileError) as error:
        raise SoundError(_unreadable(path, error)) from None
    if not frames:
        raise SoundError(f"{path} holds no sound; give a recording of speech.")


def _mono(block: NDArray[np.float32]) -> Pcm:
    """Channels averaged, full scale of float files held; NaN counts as silence."""
    mixed = np.nan_to_num(block.mean(axis=1), nan=0.0) * 32768.0
    pcm: Pcm = np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)
    return pcm


def _unreadable(path: Path, error: Exception) -> str:
    if not path.exists():
        return f"There is no file {path}; give a WAV or FLAC file."
    if path.is_dir():
        return f"{path} is a folder; give a WAV or FLAC file."
    reason = getattr(error, "strerror", None) or getattr(error, "error_string", None) or "unknown format"
    return f"{path} can't be read as sound ({reason.rstrip('.')}); give a WAV or FLAC file."
