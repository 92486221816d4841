"""The weight file of the phoneme network: a flat archive of named tensors.

Layout (read off hama 1.7.0's `asr_waveform.hama`): magic `HAMAPK`, two bytes of version, count (u32), then
for each tensor its name's length (u16), name, type (u8: 0 float32, 1 float16), rank (u8), sizes (u32 each),
offset (u64) from the end of the table rounded up to 16, and length in bytes (u64). Little endian.
"""

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MAGIC = b"HAMAPK"
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


def entries(data: bytes) -> list[Entry]:
    """The table at the head of a weight file.

    Raises ValueError, with what was found as its text, where the file is not one or ends before its tensors.
    """
    if data[:6] != MAGIC:
        raise ValueError(f"it begins with {data[:6]!r}, not with {MAGIC!r}")
    try:
        table = _table(data)
    except (struct.error, UnicodeDecodeError, IndexError):
        raise ValueError("the table of its tensors can't be read") from None
    needed = max((entry.start + entry.size for entry in table), default=0)
    if needed > len(data):
        raise ValueError(f"{len(data)} bytes, but its table needs {needed}: it is cut short")
    return table


def _table(data: bytes) -> list[Entry]:
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
    return [Entry(name, dtype, shape, base + offset, size) for name, dtype, shape, offset, size in found]


def read(data: bytes) -> dict[str, NDArray[np.float32]]:
    """Every tensor by name, as float32. Raises ValueError."""
    return {
        entry.name: np.frombuffer(data, entry.dtype, entry.size // entry.dtype.itemsize, entry.start)
        .reshape(entry.shape)
        .astype(np.float32)
        for entry in entries(data)
    }
