"""The power goes: what a disk may hold of a recorded session, for any moment of it.

Model: what was synced is there. Of what was written since, each sector of 512 bytes is there or not, whatever
the others are; a length that was not synced may be the old or the new one. (Pillai et al., "All File Systems
Are Not Created Equal", OSDI 2014, has the reasons; sectors as in SQLite's "Atomic Commit In SQLite", 2.)
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from tests.bench.faults.shim import Op

SECTOR = 512
_HEAD = struct.Struct("iiqqq")


@dataclass(frozen=True)
class Done:
    """One operation of a recorded session."""

    op: Op
    path: str
    offset: int
    length: int
    data: bytes


def recorded(file: Path) -> Iterator[Done]:
    """Operations in the order in which they were done."""
    block, at = file.read_bytes(), 0
    while at + _HEAD.size <= len(block):
        op, name, offset, length, kept = _HEAD.unpack_from(block, at)
        at += _HEAD.size
        path = block[at : at + name].decode()
        at += name
        yield Done(Op(op), path, offset, length, block[at : at + kept])
        at += kept


@dataclass
class _File:
    """What is surely on the disk, and what waits."""

    durable: bytearray = field(default_factory=bytearray)
    waiting: list[Done] = field(default_factory=list)


class Disk:
    """A disk that a session is played to, and that can be looked at as after a loss of power."""

    def __init__(self) -> None:
        self._files: dict[str, _File] = {}
        self._removed: dict[str, _File] = {}

    def take(self, done: Done) -> None:
        """The next operation."""
        if done.op is Op.UNLINK:
            self._removed[done.path] = self._files.pop(done.path, _File())
            return
        file = self._files.setdefault(done.path, _File())
        if done.op is Op.SYNC:
            self._removed.clear()
            for one in file.waiting:
                _apply(file.durable, one)
            file.waiting.clear()
        else:
            file.waiting.append(done)

    def after_a_loss(self, rng: Random, chance: float) -> dict[str, bytes]:
        """Files as they may be found: each sector that waits is there with this chance."""
        found = {}
        back = {path: file for path, file in self._removed.items() if rng.random() < 1 - chance}
        for path, file in {**back, **self._files}.items():
            content = bytearray(file.durable)
            for one in file.waiting:
                for piece in _sectors(one):
                    if rng.random() < chance:
                        _apply(content, piece)
            found[path] = bytes(content)
        return found


def _apply(content: bytearray, done: Done) -> None:
    if done.op is Op.TRUNCATE:
        del content[done.length :]
        content.extend(bytes(done.length - len(content)))
    else:
        end = done.offset + len(done.data)
        content.extend(bytes(max(0, end - len(content))))
        content[done.offset : end] = done.data


def _sectors(done: Done) -> Iterator[Done]:
    if done.op is Op.TRUNCATE:
        yield done
        return
    at = 0
    while at < len(done.data):
        size = min(SECTOR - (done.offset + at) % SECTOR, len(done.data) - at)
        yield Done(done.op, done.path, done.offset + at, size, done.data[at : at + size])
        at += size
