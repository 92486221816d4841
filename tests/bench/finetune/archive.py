"""The weight file of the phoneme network: a flat archive of named tensors, read and rewritten in place.

Layout (read off hama 1.7.0's `asr_waveform.hama`): magic `HAMAPK`, two bytes of version, count (u32), then
for each tensor its name's length (u16), name, type (u8: 0 float32, 1 float16), rank (u8), sizes (u32 each),
offset (u64) from the end of the table rounded up to 16, and length in bytes (u64). Little endian.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.errors import ModelError

MAGIC = b"HAMAPK"
BLANK = 190
BOUNDARY = 189
"""Places of the blank and of the word boundary among the network's symbols."""
_TYPES = (np.dtype("<f4"), np.dtype("<f2"))


@dataclass(frozen=True, slots=True)
class Entry:
    """Where one tensor is in the file."""

    name: str
    dtype: np.dtype[np.generic]
    shape: tuple[int, ...]
    start: int
    """Its first byte, from the beginning of the file."""
    size: int
    """Its length in bytes."""


def packaged() -> bytes:
    """The weight file that the hama package carries."""
    return resources.files("hama.assets").joinpath("asr_waveform.hama").read_bytes()


def entries(data: bytes) -> list[Entry]:
    """The table at the head of a weight file; raises ModelError where it is not one."""
    if data[:6] != MAGIC:
        raise ModelError(f"weight file: it begins with {data[:6]!r}, not with {MAGIC!r}: give a .hama file")
    (count,) = struct.unpack_from("<I", data, 8)
    position, found = 12, []
    for _ in range(count):
        (length,) = struct.unpack_from("<H", data, position)
        name = data[position + 2 : position + 2 + length].decode()
        position += 2 + length
        kind, rank = struct.unpack_from("<BB", data, position)
        shape = struct.unpack_from(f"<{rank}I", data, position + 2)
        offset, size = struct.unpack_from("<QQ", data, position + 2 + 4 * rank)
        position += 18 + 4 * rank
        found.append((name, _TYPES[kind], shape, offset, size))
    base = -(-position // 16) * 16
    table = [Entry(name, dtype, shape, base + offset, size) for name, dtype, shape, offset, size in found]
    if table[-1].start + table[-1].size > len(data):
        needed = table[-1].start + table[-1].size
        raise ModelError(f"weight file: {len(data)} bytes, but its table needs {needed}: it is cut short")
    return table


def read(data: bytes) -> dict[str, NDArray[np.float32]]:
    """Every tensor by name, as float32."""
    return {
        entry.name: np.frombuffer(data, entry.dtype, entry.size // entry.dtype.itemsize, entry.start)
        .reshape(entry.shape)
        .astype(np.float32)
        for entry in entries(data)
    }


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
