"""A simulated group: what its stations recorded, made from one real batch after the other."""

from collections.abc import Iterator
from dataclasses import dataclass

import msgspec

from assistant.batch.record import commands as cmd
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.dough.amounts import Amount
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.codec import event_text
from assistant.journal.decision_rows import Decided
from assistant.journal.shapes import encoder
from assistant.journal.summaries import LotBatch, batch_of
from assistant.testing.journal import decisions

START = 1_735_689_600.0
"""Wall time of the first batch: 2025-01-01."""
BATCH_S = 3600.0
LOT_BATCHES = 60
"""Batches of a lot, before the next is opened; stations of one supplier share it."""
SUPPLIERS = 20


@dataclass(frozen=True, slots=True)
class Shape:
    """Events of one batch, decision by decision: name and body of each, and whether it is the batch's."""

    decisions: tuple[tuple[tuple[str, str, bool], ...], ...]

    @property
    def events(self) -> int:
        """How many events a batch has."""
        return sum(map(len, self.decisions))


SAID: tuple[tuple[float, cmd.Command], ...] = (
    (0.0, cmd.NewBatch(Amount(2000))),
    (10.0, cmd.SetLot("471")),
    (60.0, cmd.AddWater(Amount(600, exact=True))),
    (61.0, cmd.Mix()),
    (181.0, cmd.JudgeCrumb("dry")),
    (260.0, cmd.AddWater(Amount(20, exact=True))),
    (262.0, cmd.Mix()),
    (400.0, cmd.JudgeCrumb("ready")),
    (402.0, cmd.Rest()),
    (900.0, cmd.Extruding()),
    (1100.0, cmd.TrayDone()),
    (1300.0, cmd.TrayDone()),
    (1400.0, cmd.Scrap(Amount(60))),
    (1410.0, cmd.Portions(16)),
    (1500.0, cmd.CloseBatch()),
)
"""What a cook says in a batch, and when (s)."""


def shape() -> Shape:
    """The second of two batches, as a station decides it."""
    state, made = State(), []
    twice = decisions(*SAID, *((1600.0 + at, said) for at, said in SAID))
    for decision in twice:
        events = []
        for event in decision:
            before, state = state, evolve(state, event)
            events.append((*event_text(event), batch_of(before, state) is not None))
        made.append(tuple(events))
    return Shape(tuple(made[len(made) // 2 :]))


class Station:
    """What a station of the group records, from where it is on."""

    def __init__(self, number: int, of: Shape) -> None:
        self.number = number
        self.name = f"kitchen {number:05}"
        """Under which the server knows it; in the journals all are "kitchen": their chains are one."""
        self._shape = of
        self.batch = self.decision = self.sequence = 0
        self.chain = FIRST

    @property
    def supplier(self) -> int:
        """Who delivers its flour."""
        return self.number % SUPPLIERS

    def next_batch(self) -> Iterator[Decided]:
        """The decisions of its next batch."""
        self.batch += 1
        opened = START + self.batch * BATCH_S
        for i, events in enumerate(self._shape.decisions):
            self.decision += 1
            at = opened + 60.0 * i
            row = DecisionRow(
                self.decision, at, at - START, "0b8a6f0e-52f2-4b33-9c39-a1d90c2b3f11", 1, "kitchen"
            )
            rows = []
            for name, body, of_batch in events:
                self.sequence += 1
                rows.append(EventRow(self.sequence, self.batch if of_batch else None, name, body))
            self.chain = chained(self.chain, row, rows)
            yield Decided(row, tuple(rows), self.chain)

    def go_on_as(self, other: "Station") -> None:
        """Stand where another does."""
        self.batch, self.decision, self.sequence, self.chain = (
            other.batch,
            other.decision,
            other.sequence,
            other.chain,
        )

    def evidence(self) -> tuple[str, float, str]:
        """Lot, end and text of what its batch says of the flour."""
        lot = f"{self.supplier:02}{self.batch // LOT_BATCHES:04}"
        ended = START + self.batch * BATCH_S + 500
        said = LotBatch(self.batch, lot, None, ended, 31.0, (("dry", 30.0), ("ready", 31.0)))
        found = encoder(LotBatch)(said)
        del found["station"]
        return lot, ended, msgspec.json.encode(found).decode()
