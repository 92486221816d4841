"""The weight file of the phoneme network rewritten in place."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.asr.weight_file import entries, read
from assistant.errors import ModelError

BLANK = 190
BOUNDARY = 189
"""Places of the blank and of the word boundary among the network's symbols."""


def packaged() -> bytes:
    """The weight file that the hama package carries."""
    return resources.files("hama.assets").joinpath("asr_waveform.hama").read_bytes()


def rewrite(data: bytes, tensors: dict[str, NDArray[np.float32]]) -> bytes:
    """The same file with these tensors' values replaced, each in its own place, type and shape."""
    places = {entry.name: entry for entry in entries(data)}
    new = bytearray(data)
    for name, tensor in tensors.items():
        entry = places[name]
        if tensor.shape != entry.shape:
            raise ModelError(f"weight file: {name} is {tensor.shape}, but the file has {entry.shape}")
        largest = float(np.finfo(entry.dtype).max)  # type: ignore[type-var]
        if not (np.abs(tensor) <= largest).all():
            raise ModelError(f"weight file: {name} has a value that does not fit {entry.dtype}")
        new[entry.start : entry.start + entry.size] = tensor.astype(entry.dtype).tobytes()
    return bytes(new)


def save(path: Path, tensors: dict[str, NDArray[np.float32]]) -> None:
    """Write a weight file: the packaged one with these values."""
    path.write_bytes(rewrite(packaged(), tensors))


__all__ = ["BLANK", "BOUNDARY", "entries", "packaged", "read", "rewrite", "save"]
