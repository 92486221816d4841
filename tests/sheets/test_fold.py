"""A machine writes the kitchens; every sheet agrees with the batch, and strikes what was taken back."""

from dataclasses import dataclass, field
from datetime import UTC

import pytest
from hypothesis import settings

from assistant.batch.record import events as ev
from assistant.batch.record.batch import Batch
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.shift_events import WalkEnded
from assistant.batch.record.state import State, Undoable
from assistant.journal.summaries import batch_of, summaries_after
from assistant.ports import Stamp
from assistant.sheets import Sheet, build_sheet, sheet_markdown, sheet_text
from assistant.sheets.allergens import KitchenAllergens
from assistant.sheets.label import label_of, label_text
from assistant.sheets.lines import line_of
from tests.batch.test_machine import Kitchens
from tests.sheets.words import english


@dataclass
class Record:
    """What a whole journal says of one batch: its events, how it ended, what of it was taken back."""

    batch: Batch
    outcome: str = "open"
    events: list[tuple[Stamp, ev.Event]] = field(default_factory=list)
    taken_back: set[int] = field(default_factory=set)
    """Places of events that were withdrawn."""
    withdrawals: dict[int, int | None] = field(default_factory=dict)
    """Place of a withdrawal -> place of the event that it took back; None: of before the opening."""


def records(events: list[ev.Event]) -> dict[int, Record]:
    """Every batch of a journal, by the states from its first event on."""
    state, boot, found = State(), 0, dict[int, Record]()
    steps: list[tuple[Undoable, tuple[int, int] | None]] = []
    for sequence, event in enumerate(events, 1):
        boot += isinstance(event, ev.StationStarted)
        stamp = Stamp(sequence, 1_768_000_000.0 + event.at, event.at, f"boot {boot}", True)
        before, state = state, evolve(state, event)
        number = batch_of(before, state)
        here = None
        if number is not None:
            batch = state.batch or before.batch
            assert batch is not None
            record = found.setdefault(number, Record(batch))
            record.batch, here = batch, (number, len(record.events))
            record.events.append((stamp, event))
            lines = summaries_after(before, event, state, stamp)
            record.outcome = "open" if state.batch else lines[0].outcome
            if isinstance(event, ev.Withdrawn):
                _, place = next(known for known in steps if known[0] is before.undo[-1])
                of_this = place is not None and place[0] == number
                record.withdrawals[here[1]] = place[1] if place and of_this else None
                if place and of_this:
                    record.taken_back.add(place[1])
        # A restart and a clean down write every step anew.
        was = before.undo if isinstance(event, ev.StationStarted | WalkEnded) else state.undo
        places = {id(step): place for step, place in steps}
        steps = [(step, places.get(id(old), here)) for step, old in zip(state.undo, was, strict=True)]
    return found


def agrees(sheet: Sheet, record: Record) -> None:
    """Figures of the batch, lines of the events in their order, struck where taken back."""
    batch = record.batch
    assert (sheet.number, sheet.outcome, sheet.lot) == (batch.number, record.outcome, batch.lot)
    assert (sheet.flour_g, sheet.water_g, sheet.scrap_g) == (batch.flour_g, batch.water_g, batch.scrap_g)
    assert (sheet.target_pct, sheet.low_pct, sheet.high_pct) == (
        batch.target_pct,
        batch.low_pct,
        batch.high_pct,
    )
    assert (sheet.trays, sheet.portions, sheet.recipe) == (batch.trays, batch.portions, batch.recipe)
    assert sheet.additions == batch.additions
    assert (sheet.dies[-1] if sheet.dies else None) == batch.die
    assert sheet.dough_g == pytest.approx(batch.product_g)
    lines = iter(sheet.lines)
    shown: set[int] = set()
    for place, (_, event) in enumerate(record.events):
        if isinstance(event, ev.Withdrawn):
            if record.withdrawals[place] in shown:
                assert next(lines).what.key == "lines.taken_back"
            continue
        wanted = line_of(event, None)
        if wanted is None:
            continue
        shown.add(place)
        line = next(lines)
        assert line.what.key == wanted.key
        said = [note.key for note in line.notes]
        assert ("notes.taken_back" in said) is (place in record.taken_back)
        assert line.struck is (place in record.taken_back or "notes.corrected" in said)
    assert next(lines, None) is None


class Sheets(Kitchens):
    """At the end of every run, a sheet of every batch."""

    def teardown(self) -> None:
        """Build, compare, print."""
        for record in records(getattr(self, "events", [])).values():
            sheet = build_sheet(record.events)
            agrees(sheet, record)
            for write in (sheet_text, sheet_markdown):
                assert "None" not in write(sheet, english(), UTC)
            assert label_text(label_of(sheet, english(), KitchenAllergens().of(sheet), zone=UTC))


TestSheets = Sheets.TestCase
TestSheets.settings = settings(max_examples=40, stateful_step_count=50, deadline=None, derandomize=True)
