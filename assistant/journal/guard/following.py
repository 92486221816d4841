"""From decisions that lie in the file to states, across what was set aside. Pure."""

from dataclasses import dataclass, replace

from assistant.batch.record.events import BatchDropped, Event
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.errors import ImpossibleEvent, JournalError
from assistant.journal.codec import read_event
from assistant.journal.guard.links import Link
from assistant.journal.summaries import BatchSummary, batch_of, keep_opening, summaries_after
from assistant.ports import Stamp

Passage = tuple[Stamp, State, Event, State]
"""An event with its stamp, between the states before and after it."""


class CannotFollow(JournalError):  # noqa: N818 - what it is
    """A decision that can't be read by this program, or not without one that is missing."""


@dataclass(slots=True)
class Follower:
    """The state after each decision."""

    state: State
    broken: bool = False
    """Whether a decision before is missing: then what comes has to be of the batch that it is noted for."""

    def take(self, link: Link) -> list[Passage]:
        """Go on by a decision that can be trusted. Raises CannotFollow: then the state is as before.

        Where the end of a batch is missing, and the next decision is of another or of none, the batch counts
        as dropped: nothing else is known of its end, and nobody learns from it.
        """
        try:
            events = [read_event(row.sequence, _name(row.name), row.body) for row in link.events]
        except JournalError as error:
            raise CannotFollow(str(error)) from error
        try:
            found = self._passages(link, events, self.state)
        except ImpossibleEvent as error:
            if not self.broken or self.state.batch is None:
                raise CannotFollow(f"it can't follow those before it ({error})") from error
            try:
                dropped = BatchDropped(at=events[0].at)
                without = evolve(self.state, dropped)
                ended = link.stamp(link.sequence), self.state, dropped, without
                found = [ended, *self._passages(link, events, without)]
            except ImpossibleEvent:
                raise CannotFollow(f"it can't follow those before it ({error})") from error
        self.state = found[-1][3]
        return found

    def _passages(self, link: Link, events: list[Event], state: State) -> list[Passage]:
        found = list[Passage]()
        for row, event in zip(link.events, events, strict=True):
            entry = getattr(event, "entry", None)
            if self.broken and isinstance(entry, int) and entry > state.next_entry:
                state = replace(state, next_entry=entry)  # those between are missing
            before, state = state, evolve(state, event)
            if self.broken and batch_of(before, state) != row.batch:
                raise ImpossibleEvent(f"it is of batch {row.batch}")
            found.append((link.stamp(row.sequence), before, event, state))
        return found


@dataclass(frozen=True, slots=True)
class BatchRow:
    """A row of the table `batches`: a summary, and where the batch lies in the record."""

    summary: BatchSummary
    first: int
    """Sequence of its first event."""
    last: int
    """Sequence of its last event so far."""


def batch_rows(passages: list[Passage], known: dict[int, BatchRow]) -> dict[int, BatchRow]:
    """Rows of the batches that a decision changed; `known`: the rows of these that there are before it."""
    found = dict[int, BatchRow]()
    for stamp, before, event, after in passages:
        for line in summaries_after(before, event, after, stamp):
            old = found.get(line.number) or known.get(line.number)
            summary = keep_opening(old.summary if old else None, line)
            found[line.number] = BatchRow(summary, old.first if old else stamp.sequence, stamp.sequence)
        number = batch_of(before, after)
        if number is not None and (old := found.get(number) or known.get(number)) is not None:
            found[number] = replace(old, last=stamp.sequence)
    return found


def _name(text: str | bytes) -> str:
    return text if isinstance(text, str) else text.decode()
