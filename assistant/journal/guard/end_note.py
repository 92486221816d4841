"""A small file beside the journal that says how far it went: so that a lost end is noticed.

It is written after each commit, and synced with each snapshot and at the end. What a cut or a flipped bit
takes from the log is told; after a power cut the note may be some replies behind the journal, which does no
harm. One more sync a reply would double what a reply waits for the disk.
"""

import os
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Self

from assistant.journal.chain import FIRST

_SIZE = 256


@dataclass(frozen=True, slots=True)
class End:
    """The last decision of a journal; by default that there is none."""

    decision: int = 0
    sequence: int = 0
    """Of its last event."""
    chain: str = FIRST
    wall: float = 0.0
    """When it was written (s since 1970, UTC)."""


class EndNote:
    """The file, open. Where it can't be written it is as if it were not there."""

    def __init__(self, file: int | None) -> None:
        self._file = file

    @classmethod
    def of(cls, journal: Path) -> Self:
        """The note of a journal, begun where there is none."""
        path = journal.with_name(journal.name + ".end")
        try:
            return cls(os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600))
        except OSError:
            return cls(None)

    @classmethod
    def to_read(cls, journal: Path) -> Self:
        """The note of a journal, as it is."""
        try:
            return cls(os.open(journal.with_name(journal.name + ".end"), os.O_RDONLY | os.O_CLOEXEC))
        except OSError:
            return cls(None)

    def read(self) -> End:
        """What it says; the default where it says nothing, or is damaged."""
        try:
            content = os.pread(self._file, _SIZE, 0).decode() if self._file is not None else ""
            decision, sequence, chain, wall, seal = content.split()
            found = End(int(decision), int(sequence), chain, float(wall))
        except (OSError, ValueError):
            return End()
        return found if seal == _seal(found) else End()

    def decision_noted(self) -> int:
        """Number of the decision that it names, 0 for none; lets it go."""
        found = self.read().decision
        if self._file is not None:
            os.close(self._file)
            self._file = None
        return found

    def write(self, end: End) -> None:
        """Say that the journal goes to here."""
        if self._file is not None:
            text = f"{end.decision} {end.sequence} {end.chain} {end.wall!r} {_seal(end)}"
            with suppress(OSError):
                os.pwrite(self._file, text.ljust(_SIZE - 1).encode() + b"\n", 0)

    def sync(self) -> None:
        """Have it on disk."""
        if self._file is not None:
            with suppress(OSError):
                os.fsync(self._file)

    def close(self) -> None:
        """Let it go, on disk."""
        self.sync()
        if self._file is not None:
            os.close(self._file)
            self._file = None


def _seal(end: End) -> str:
    return sha256(f"{end.decision} {end.sequence} {end.chain} {end.wall!r}".encode()).hexdigest()
