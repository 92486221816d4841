"""A journal whose storage fails: what the cook hears of it, and when it is tried again.

The station goes on meanwhile, with what it decides held in memory. That it is not on disk is said before
anything else is, again every few minutes, and once when all is. So is a file that somebody moved or replaced
under the running station, which has put it back.
"""

from collections.abc import Sequence
from typing import Protocol

from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.events import Event
from assistant.journal.failures import Trouble

SAY_AGAIN_S = 300.0
"""While nothing can be written, that is said again so often (s)."""


class Held(Protocol):
    """A journal that holds what it can't write."""

    @property
    def failing(self) -> bool:
        """Whether its storage takes nothing at the moment."""

    @property
    def trouble(self) -> Trouble:
        """What is wrong with it."""

    @property
    def unread(self) -> bool:
        """Whether the record could not even be read."""

    @property
    def put_back(self) -> int:
        """How often its file was gone from its name, or another lay there, and was written there again."""

    @property
    def next_try(self) -> float | None:
        """Station time (s) at which it is worth trying again; None while all is on disk."""

    def try_again(self) -> Sequence[Event]:
        """Write what is held; the events that were written."""


class NotWritten:
    """Says that nothing is written, and tries again; `journal`: None for one that never holds anything."""

    def __init__(self, journal: Held | None) -> None:
        self._journal = journal
        self._said_at: float | None = None
        self._put_back = 0

    @property
    def failing(self) -> bool:
        """Whether what is decided is in memory alone."""
        return self._journal is not None and self._journal.failing

    def next_due(self, *, asking: bool) -> float | None:
        """Station time (s) of the next try or word; None for none. `asking`: a question is open."""
        if self._journal is None or (not self.failing and self._said_at is None):
            return None
        moments = [] if self._journal.next_try is None else [self._journal.next_try]
        if self._said_at is not None and not asking:
            moments.append(self._said_at + (SAY_AGAIN_S if self.failing else 0.0))
        return min(moments, default=None)

    def try_again(self, now: float) -> Sequence[Event]:
        """Write what is held, where it is time (station time, s); the events that were written."""
        journal = self._journal
        if journal is None or journal.next_try is None or journal.next_try > now:
            return ()
        return journal.try_again()

    def warning(self, now: float) -> list[Announcement]:
        """What goes before everything else that is said now (station time, s)."""
        journal = self._journal
        if journal is None:
            return []
        moved = journal.put_back > self._put_back
        self._put_back = journal.put_back
        back = [say("journal_put_back", "ring_firm")] if moved else []
        return [*back, *self._failing(journal, now)]

    def _failing(self, journal: Held, now: float) -> list[Announcement]:
        again = self._said_at is not None and now < self._said_at + SAY_AGAIN_S
        if not journal.failing or again:
            return []
        first, self._said_at = self._said_at is None, now
        unread = [say("journal_unread", "ring_firm")] if first and journal.unread else []
        return [*unread, say("not_written", "ring_firm", why=journal.trouble)]

    def all_clear(self) -> list[Announcement]:
        """That all is written, once."""
        if self._said_at is None or self.failing:
            return []
        self._said_at = None
        return [say("written_again")]
