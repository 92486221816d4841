"""What is read from a journal: its events, its batches, and the state that they lead to."""

import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Self

from assistant.batch.record.events import Event
from assistant.batch.record.state import State
from assistant.errors import JournalError
from assistant.journal.batch_table import BatchTable
from assistant.journal.failures import as_journal_error, damaged_line
from assistant.journal.guard.end_note import EndNote
from assistant.journal.guard.following import CannotFollow, Follower, Passage
from assistant.journal.guard.links import Link
from assistant.journal.guard.needed_tables import tables_are_sound
from assistant.journal.guard.snapshots import ALL_SNAPSHOTS, Snapshot
from assistant.journal.schema import MIGRATIONS, is_foreign, version
from assistant.ports import Stamp

__all__ = ["JournalReader", "OpenJournal", "Passage"]


class OpenJournal(BatchTable):
    """What can be read from every open journal, whether it is also written or not."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def connection(self) -> sqlite3.Connection:
        """For what looks at the file itself."""
        return self._db

    def close(self) -> None:
        """Let the file go."""
        self._db.close()

    def read(self, after: int = 0) -> Iterator[tuple[Stamp, Event]]:
        """Events with a sequence above `after`, oldest first. Raises JournalError at one it can't read."""
        for link in self._links(after):
            for row in link.events:
                if row.sequence > after:
                    yield link.stamp(row.sequence), self._event(row.sequence, row.name, row.body)

    def before(self, wall: float) -> int:
        """Sequence of the last event that was written before the first decision at or after a wall time.

        `wall`: s since 1970. What `read` takes to begin there; where all is older, the last of all.
        """
        query = """SELECT coalesce((SELECT min(e.sequence) - 1 FROM events e WHERE e.decision >=
            (SELECT min(decision) FROM decisions WHERE wall >= ?)), (SELECT max(sequence) FROM events), 0)"""
        with as_journal_error(self.path):
            return int(self._db.execute(query, (wall,)).fetchone()[0])

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events, and the stamp of the last; from the newest snapshot that can be trusted."""
        snapshot = self._snapshot()
        if snapshot is not None:
            found = self._load_from(snapshot.state, snapshot.sequence, snapshot.chain)
            if found is not None:
                return found
        state, last = State(), None
        for passages in self._decisions():
            last, _, _, state = passages[-1]
        return state, last

    def load_after(self, state: State, last: Stamp | None) -> tuple[State, Stamp | None]:
        """The same, from a state that was loaded before and the stamp that came with it.

        Reads what was written since; everything, where this is another journal by now.
        """
        found = self._load_from(state, last.sequence, last=last) if last else None
        return found or self.load()

    def _load_from(
        self, state: State, sequence: int, chain: str | None = None, last: Stamp | None = None
    ) -> tuple[State, Stamp | None] | None:
        """State and last stamp, from the state after a decision's last event; None where that is not in it.

        `chain`, `last`: what is known of that decision.
        """
        follower = self._follower(state)
        tail = self._links(sequence - 1)
        begin = next(tail, None)
        if begin is None or begin.last_sequence != sequence or chain not in (None, begin.chain):
            return None
        stamp = begin.stamp(sequence)
        if last not in (None, stamp):
            return None
        for link in tail:
            stamp = self._follow(follower, link)[-1][0]
        return follower.state, stamp

    def backup(self, path: Path) -> None:
        """Write a compact copy to a new file, while the journal is in use.

        Raises JournalError where the file exists or can't be written.
        """
        if path.exists():
            raise JournalError(f"{path}: it exists already; name a new file")
        part = path.with_name(path.name + ".part")
        with as_journal_error(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            part.unlink(missing_ok=True)
            try:
                self._db.execute("VACUUM INTO ?", (str(part),))
                with part.open("rb+") as copy:
                    os.fsync(copy.fileno())
                part.rename(path)
            finally:
                part.unlink(missing_ok=True)

    def _snapshot(self) -> Snapshot | None:
        """The newest snapshot that can be trusted."""
        return next(iter(self._snapshots()), None)

    def _snapshots(self) -> list[Snapshot]:
        """Snapshots that can be trusted, newest first."""
        with as_journal_error(self.path):
            rows = self._db.execute(ALL_SNAPSHOTS).fetchall()
        return [found for row in rows if (found := Snapshot.read(*row)) is not None]

    def replayed(self, most: int | None = None) -> tuple[State, int]:
        """State by replaying all events; of a journal of more than `most`, from the older snapshot on.

        Also how many events were replayed. Raises JournalError.
        """
        with as_journal_error(self.path):
            (last,) = self._db.execute("SELECT coalesce(max(sequence), 0) FROM events").fetchone()
        snapshots = self._snapshots() if most is not None and last > most else []
        begin = snapshots[-1] if snapshots else Snapshot()
        follower = self._follower(begin.state)
        count = 0
        for link in self._links(begin.sequence):
            count += len(self._follow(follower, link))
        return follower.state, count

    def _follow(self, follower: Follower, link: Link) -> list[Passage]:
        try:
            return follower.take(link)
        except CannotFollow as error:
            raise JournalError(
                f"{self.path}: {link.entries}: {error}; crumbcall ledger repair sets that aside"
            ) from error

    def history(self) -> Iterator[Passage]:
        """Every event from the first on, each between two states. Raises JournalError."""
        for passages in self._decisions():
            yield from passages


class JournalReader(OpenJournal):
    """A journal that is only read; another process may be writing it."""

    @classmethod
    def open(cls, path: Path, tell: Callable[[str], None] | None = None) -> Self:
        """Open for reading. Raises JournalError (one line) where there is no journal or it can't be read.

        Where its end is missing `tell` gets the line that says so, and the rest is read; without it that is
        an error too.
        """
        if not path.is_file():
            raise JournalError(f"{path}: there is no journal yet; crumbcall listen begins one")
        with as_journal_error(path):
            noted = EndNote.to_read(path).decision_noted()
            db = connect_to_read(path)
            try:
                check_version(path, db)
                if version(db) < len(MIGRATIONS):
                    raise JournalError(f"{path}: it is of an older version; start crumbcall listen once")
                if not tables_are_sound(db):
                    raise JournalError(damaged_line(path))
                missing = _missing_end(path, db, noted)
                if missing and tell is None:
                    raise JournalError(missing)
            except BaseException:
                db.close()
                raise
        if missing and tell is not None:
            tell(missing)
        return cls(path, db)


def _missing_end(path: Path, db: sqlite3.Connection, noted: int) -> str:
    """What to say where the note beside a journal, read before it, knows more decisions; "" for nothing."""
    (last,) = db.execute(
        """SELECT max((SELECT coalesce(max(decision), 0) FROM decisions),
        (SELECT coalesce(max(last_decision), 0) FROM quarantine))"""
    ).fetchone()
    if noted <= last:
        return ""
    return (
        f"{path}: {noted - last} decisions are missing at its end; crumbcall ledger repair looks for "
        "them, and so does the next start; crumbcall ledger restore FILE puts a copy back"
    )


def connect_to_read(path: Path) -> sqlite3.Connection:
    """A read-only connection; to an unchanging file where its folder is read-only and nobody writes it."""
    name = f"{path.absolute().as_uri()}?mode=ro"
    db = sqlite3.connect(name, uri=True, isolation_level=None)
    try:
        db.execute("SELECT count(*) FROM sqlite_schema")
    except sqlite3.OperationalError:
        db.close()
        log = path.with_name(path.name + "-wal")
        if log.exists() and log.stat().st_size > 0:
            raise
        db = sqlite3.connect(f"{name}&immutable=1", uri=True, isolation_level=None)
    return db


def check_version(path: Path, db: sqlite3.Connection) -> None:
    """JournalError where the file is another program's, or of a newer version than this program."""
    if is_foreign(db):
        raise JournalError(f"{path}: it is another program's database; give another file")
    found = version(db)
    if found > len(MIGRATIONS):
        raise JournalError(
            f"{path}: it is of version {found}, and this crumbcall knows up to {len(MIGRATIONS)}; "
            "use the newer crumbcall"
        )
