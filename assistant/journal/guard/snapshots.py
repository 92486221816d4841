"""A snapshot: the state after an event, so that a start need not read all events. Pure."""

from dataclasses import dataclass, field
from typing import Any, Self

from assistant.batch.record.state import State
from assistant.journal.chain import FIRST
from assistant.journal.codec import code_that_made_it, read_state, state_text
from assistant.journal.guard.seals import snapshot_seal

ALL_SNAPSHOTS = """SELECT sequence, decision, CAST(chain AS BLOB), CAST(code AS BLOB), CAST(state AS BLOB),
    CAST(seal AS BLOB) FROM snapshots NOT INDEXED ORDER BY sequence DESC"""
INSERT_SNAPSHOT = "INSERT OR REPLACE INTO snapshots VALUES (?, ?, ?, ?, ?, ?)"


@dataclass(frozen=True, slots=True)
class Snapshot:
    """State after an event, which ends a decision; by default that before the first."""

    sequence: int = 0
    decision: int = 0
    chain: str = FIRST
    """Chain of the decision."""
    state: State = field(default_factory=State)

    @classmethod
    def read(cls, sequence: int, decision: int, *texts: Any) -> Self | None:
        """From the columns of its row, texts as bytes; None where it is damaged, or made by other code."""
        try:
            chain, code, state, seal = (text.decode() for text in texts)
        except UnicodeDecodeError:
            return None
        if not code or code != code_that_made_it():
            return None
        if seal != snapshot_seal(sequence, decision, chain, code, state):
            return None
        found = read_state(state)
        return None if found is None else cls(sequence, decision, chain, found)

    @property
    def row(self) -> tuple[Any, ...]:
        """Its columns."""
        code, state = code_that_made_it(), state_text(self.state)
        seal = snapshot_seal(self.sequence, self.decision, self.chain, code, state)
        return self.sequence, self.decision, self.chain, code, state, seal
