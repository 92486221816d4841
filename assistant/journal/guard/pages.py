"""Rows as they lie in the pages of an SQLite file and its log, whatever else of the file is broken.

By the published file format (sqlite.org/fileformat2.html): leaf pages of tables, their cells, overflow pages,
frames of the log. Nothing of this is trusted: the chain says afterwards what was written.
"""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Self

Row = tuple[int, tuple[Any, ...]]
"""Row id, and the values of the columns; texts as bytes."""

PAGE = 4096
"""Size of a page where the header does not say it."""
_LEAF, _OTHERS = 13, (2, 5, 10)
_FRAME, _LOG_HEADER = 24, 32
_INTS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
_MOST = 1 << 24
"""Bytes of a row at most."""


class Pages:
    """All pages of a file and of its log, also such as were written over since."""

    def __init__(self, file: bytes, log: bytes) -> None:
        self._file = file
        self._log = log
        self.size = _page_size(self._file, self._log)
        self._newest: dict[int, bytes] = {}
        self._frames: list[bytes] = []
        step = _FRAME + self.size
        for at in range(_LOG_HEADER, len(self._log) - _FRAME, step):
            page = self._log[at + _FRAME : at + step]
            self._frames.append(page)
            self._newest[struct.unpack_from(">I", self._log, at)[0]] = page

    @classmethod
    def of(cls, path: Path) -> Self:
        """Those of a file and its log as they lie there. Raises OSError."""
        return cls(path.read_bytes(), log_of(path))

    def rows(self) -> Iterator[Row]:
        """Every row that can be read, from wherever it lies; some more than once."""
        for at in range(0, len(self._file), self.size):
            yield from self._rows_of(self._file[at : at + self.size], 100 if at == 0 else 0)
        for page in self._frames:
            yield from self._rows_of(page, 0)

    def _rows_of(self, page: bytes, start: int) -> Iterator[Row]:
        kind = page[start] if len(page) > start else 0
        whole = True
        if kind == _LEAF and len(page) >= start + 8:
            (cells,) = struct.unpack_from(">H", page, start + 3)
            whole = start + 8 + 2 * cells <= len(page)
            for number in range(cells if whole else 0):
                (at,) = struct.unpack_from(">H", page, start + 8 + 2 * number)
                row = self._cell(page, at)
                whole = whole and row is not None
                if row is not None:
                    yield row
        if kind in _OTHERS or (kind == _LEAF and whole):
            return
        # Its beginning is broken, or one of its cells: look at every place.
        for at in range(len(page)):
            if (row := self._cell(page, at)) is not None:
                yield row

    def _cell(self, page: bytes, at: int) -> Row | None:
        """The row whose cell begins here; None where there is none."""
        try:
            length, at = _varint(page, at)
            number, at = _varint(page, at)
            if not 4 <= length <= _MOST or number <= 0:
                return None
            local = self._local(length)
            payload = page[at : at + local]
            if len(payload) < local:
                return None
            if local < length:
                payload += self._overflow(struct.unpack_from(">I", page, at + local)[0], length - local)
            values = _record(payload, length)
        except (IndexError, struct.error):
            return None
        return None if values is None else (number, values)

    def _local(self, length: int) -> int:
        most = self.size - 35
        if length <= most:
            return length
        least = (self.size - 12) * 32 // 255 - 23
        wanted = least + (length - least) % (self.size - 4)
        return wanted if wanted <= most else least

    def _overflow(self, number: int, length: int) -> bytes:
        found = b""
        while number and len(found) < length:
            page = self._newest.get(number) or self._file[(number - 1) * self.size : number * self.size]
            (number,) = struct.unpack_from(">I", page)
            found += page[4:]
        return found[:length]


def log_of(path: Path) -> bytes:
    """The log beside a file, as it lies there; nothing where there is none."""
    log = path.with_name(path.name + "-wal")
    return log.read_bytes() if log.exists() else b""


def _page_size(file: bytes, log: bytes) -> int:
    found = struct.unpack_from(">H", file, 16)[0] if len(file) >= 18 else 0
    in_log = struct.unpack_from(">I", log, 8)[0] if len(log) >= 12 else found
    return found if found == in_log and found >= 512 and found & (found - 1) == 0 else PAGE


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for count in range(9):
        byte = data[at + count]
        if count == 8:
            return (value << 8) | byte, at + 9
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, at + count + 1
    raise IndexError


def _record(data: bytes, length: int) -> tuple[Any, ...] | None:
    """Values of a record; None where it is none."""
    end, at = _varint(data, 0)
    if not at < end <= length or end > 32:
        return None
    kinds = list[int]()
    while at < end:
        kind, at = _varint(data, at)
        kinds.append(kind)
    if at != end or len(data) != length:
        return None
    values = list[Any]()
    for kind in kinds:
        if kind == 0:
            values.append(None)
        elif kind in _INTS:
            values.append(int.from_bytes(data[at : at + _INTS[kind]], "big", signed=True))
            at += _INTS[kind]
        elif kind == 7:
            values.append(struct.unpack_from(">d", data, at)[0])
            at += 8
        elif kind in (8, 9):
            values.append(kind - 8)
        elif kind >= 12:
            size = (kind - 12) // 2
            values.append(data[at : at + size])
            at += size
        else:
            return None
    return tuple(values) if at == length else None
