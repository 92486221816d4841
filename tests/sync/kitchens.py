"""Stations of a group, with what they cook."""

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import psycopg

from assistant.app.group.membership import group_of
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.amounts import Amount
from assistant.journal.store import SqliteJournal
from assistant.sync.rounds import Group, Look, look
from assistant.testing.journal import decisions

ACCOUNT, PASSWORD = "kitchen_one", "flour and water"


def batches(many: int, lot: str = "471", ready_pct: float = 31.0) -> list[list[ev.Event]]:
    """Decisions of so many closed batches of a lot whose crumb is ready at a hydration (%)."""
    water = 20.0 * ready_pct
    steps: list[tuple[float, cmd.Command]] = []
    for i in range(many):
        at = 1000.0 * i
        steps += [
            (at, cmd.NewBatch(Amount(2000))),
            (at + 10, cmd.SetLot(lot)),
            (at + 60, cmd.AddWater(Amount(water - 20, exact=True))),
            (at + 200, cmd.JudgeCrumb("dry")),
            (at + 260, cmd.AddWater(Amount(20, exact=True))),
            (at + 400, cmd.JudgeCrumb("ready")),
            (at + 500, cmd.CloseBatch()),
        ]
    return decisions(*steps)


class Kitchen:
    """A station's home, its journal, and its group."""

    def __init__(self, folder: Path, name: str, database: str, port: int) -> None:
        self.home = Home(folder, folder)
        self.name = name
        self.database = database
        self.clock = ScriptedClock()
        folder.mkdir(parents=True, exist_ok=True)
        passwords = folder / "group.pass"
        passwords.write_text(f"*:*:*:{ACCOUNT}:{PASSWORD}\n")
        passwords.chmod(0o600)
        self.settle(port)

    def settle(self, port: int, more: str = "") -> None:
        """Write the settings, with more lines behind them."""
        self.port = port
        self.home.settings_file.write_text(
            f'[station]\nid = "{self.name}"\n\n[sync]\n'
            f'server = "postgresql://{ACCOUNT}@127.0.0.1:{port}/{self.database}"\n{more}'
        )

    @property
    def group(self) -> Group:
        """Its group, by its settings."""
        return group_of(self.home, Settings.load(self.home.settings_file))

    def cook(self, made: Sequence[Sequence[ev.Event]]) -> None:
        """Write decisions into its journal."""
        with closing(SqliteJournal.open(self.home.journal_file, self.clock, self.name)) as journal:
            for events in made:
                self.clock.move(30.0)
                journal.append(events)

    def look(self) -> Look:
        """One look at the server."""
        return look(self.group)

    def link(self, port: int = 0) -> "psycopg.Connection[tuple[object, ...]]":
        """A connection of the station's account, for what no program of ours would do."""
        return psycopg.connect(
            host="127.0.0.1", port=port or self.port, dbname=self.database, user=ACCOUNT, password=PASSWORD
        )
