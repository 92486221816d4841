"""The rows agree with the account of each batch, whatever was corrected and taken back."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, settings
from hypothesis.stateful import rule

from assistant.batch.decide.decide import Said
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.batch.record.timer_kinds import tray_name
from assistant.journal.exporting.event_rows import Rows
from assistant.journal.exporting.spool import Spool
from assistant.journal.exporting.tables import TABLES
from assistant.journal.reader import JournalReader
from assistant.ports import Stamp
from assistant.sheets import build_sheet
from tests.batch.test_machine import Kitchens
from tests.journal.test_before import VERSIONS, started_once

SIGNS = {"water": 1, "flour": 1, "addition": 1, "dough_out": -1, "flour_out": -1, "water_out": -1}


def rows_of(spool: Spool) -> dict[str, list[dict[str, Any]]]:
    return {
        name: [dict(zip(table.names, row, strict=True)) for row in spool.rows(table)]
        for name, table in TABLES.items()
    }


def standing(rows: list[dict[str, Any]], batch: int) -> list[dict[str, Any]]:
    return [row for row in rows if row["batch"] == batch and not row["taken_back"]]


class Exports(Kitchens):
    """At the end of every run the rows are held against the states."""

    @rule()
    def undo(self) -> None:
        """Whatever it takes back: that is looked at where the machine is tested."""
        self.ask(Said(cmd.Undo()))

    def teardown(self) -> None:
        state, last, boot = State(), {}, 0
        with Spool() as spool:
            rows = Rows(spool)
            for sequence, event in enumerate(getattr(self, "events", []), 1):
                boot += isinstance(event, ev.StationStarted)
                before, state = state, evolve(state, event)
                rows.take((Stamp(sequence, 1e9 + event.at, event.at, f"{boot}", True), before, event, state))
                batch = state.batch or before.batch
                if batch is not None:
                    last[batch.number] = batch
            rows.finish({})
            found = rows_of(spool)
        assert [row["batch"] for row in found["batches"]] == sorted(last)
        for row in found["batches"]:
            batch = last[row["batch"]]
            pours = standing(found["pours"], batch.number)
            if row["outcome"] == "taken back":
                assert pours == []
                continue
            assert (row["flour_g"], row["water_g"]) == (batch.flour_g, batch.water_g)
            assert [(one["entry"], one["kind"], one["grams"]) for one in pours] == [
                (one.number, one.kind, one.grams) for one in batch.entries if one.kind != "scrap"
            ]
            scrap = standing(found["scrap"], batch.number)
            assert sum(one["grams"] for one in scrap) == pytest.approx(batch.scrap_g)
            assert len(standing(found["trays"], batch.number)) == batch.trays
            squeezed = [
                ("doubtful" if one["far"] else one["verdict"], one["hydration_pct"])
                for one in standing(found["crumbs"], batch.number)
            ]
            assert squeezed == list(batch.squeezes)
        running = {one["name"]: one for one in found["timers"] if one["ended_at"] is None}
        assert running.keys() == {timer.name for timer in state.timers if timer.kind != "tray"}
        for timer in state.timers:
            if timer.kind != "tray":
                one = running[timer.name]
                assert one["seconds"] + one["added_s"] == pytest.approx(timer.seconds)
                assert (one["length_certain"], one["kind"]) == (timer.certain, timer.kind)
        warm = {timer.name for timer in state.timers if timer.kind == "tray"}
        cold = {tray_name(one["batch"], one["tray"]) for one in found["trays"] if one["cold_at"]}
        assert not warm & cold


TestExports = Exports.TestCase
TestExports.settings = settings(
    max_examples=40,
    stateful_step_count=50,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
)


@pytest.fixture(params=VERSIONS)
def journal(request: pytest.FixtureRequest, path: Path) -> Iterator[JournalReader]:
    """A journal that an older version wrote."""
    started_once(request.param, path)
    with JournalReader.open(path) as found:
        yield found


def test_what_is_kept_in_memory_follows_from_undo_and_not_from_the_journal(journal: JournalReader) -> None:
    with Spool() as spool:
        rows = Rows(spool)
        for passage in journal.history():
            rows.take(passage)
            assert len(rows._steps) == len(passage[3].undo) <= passage[3].undo_depth
            assert rows._timers.running.keys() == {timer.name for timer in passage[3].timers}


def test_a_journal_of_an_older_version_has_the_same_account_on_its_sheets(journal: JournalReader) -> None:
    with Spool() as spool:
        rows = Rows(spool)
        for passage in journal.history():
            rows.take(passage)
        rows.finish({})
        found = rows_of(spool)
        assert [row["batch"] for row in found["batches"]] == [line.number for line in journal.batches()]
        for row, line in zip(found["batches"], journal.batches(), strict=True):
            sheet = build_sheet(journal.batch(line.number))
            assert (row["outcome"], row["lot"], row["die"]) == (
                sheet.outcome,
                sheet.lot,
                (sheet.dies or (None,))[-1],
            )
            assert (row["flour_g"], row["water_g"], row["scrap_g"]) == (
                sheet.flour_g,
                sheet.water_g,
                sheet.scrap_g,
            )
            assert (row["trays"], row["portions"], row["crumb"]) == (sheet.trays, sheet.portions, sheet.crumb)
            assert row["opened_at"] == line.opened_wall
            assert (row["ended_at"], bool(row["ended_certain"])) == (line.ended_wall, line.ended_trusted)
