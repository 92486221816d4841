"""Watches a journal that another process writes: it is read again only when its files changed."""

from pathlib import Path

from assistant.batch.record.state import State
from assistant.journal.reader import JournalReader
from assistant.ports import Stamp

_Seen = tuple[tuple[int, int, int] | None, ...]


class JournalWatch:
    """The state of now, and the stamp of the journal's last line; raises JournalError."""

    def __init__(self, file: Path) -> None:
        self._file = file
        self._seen: _Seen | None = None
        self._found: tuple[State, Stamp | None] = (State(), None)

    def __call__(self) -> tuple[State, Stamp | None]:
        """Look."""
        seen = tuple(map(_stamp, (self._file, self._file.with_name(f"{self._file.name}-wal"))))
        if seen != self._seen or seen[0] is None:
            # Looked at before it is read: what is written meanwhile is read at the next look.
            with JournalReader.open(self._file) as journal:
                self._found = journal.load_after(*self._found)
            self._seen = seen
        return self._found


def _stamp(file: Path) -> tuple[int, int, int] | None:
    """What changes whenever a file is written; None where there is none."""
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size
