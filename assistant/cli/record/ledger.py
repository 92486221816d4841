"""`crumbcall ledger`: the record of all that happened, event by event."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from assistant.batch.record.evolving.evolve import replay
from assistant.cli.quantity import Quantity
from assistant.cli.record.exporting import export_command
from assistant.config.home import Home
from assistant.dough.ranges import EVENTS
from assistant.errors import JournalError
from assistant.journal.codec import event_text
from assistant.journal.reader import JournalReader


@click.group("ledger")
def ledger_command() -> None:
    """Look at the record of all that happened, check it, copy it, export it.

    Example: crumbcall ledger check
    """


@ledger_command.command("show")
@click.option(
    "--last", type=Quantity(EVENTS), metavar="N", default=20, show_default=True, help="How many events."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object an event.")
@click.pass_obj
def show(home: Home, last: int, as_json: bool) -> None:
    """Print the last events.

    Example: crumbcall ledger show --last 50
    """
    with JournalReader.open(home.journal_file) as journal:
        _, stamp = journal.load()
        after = max(0, (stamp.sequence if stamp else 0) - last)
        for when, event in journal.read(after):
            name, values = event_text(event)
            if as_json:
                found: dict[str, Any] = {**asdict(when), "event": name, "values": json.loads(values)}
                click.echo(json.dumps(found, ensure_ascii=False))
            else:
                click.echo(f"{when.sequence:>6}  {name:<18} {values}")


@ledger_command.command("check")
@click.pass_obj
def check(home: Home) -> None:
    """Replay every event and compare with the state that the station resumes from.

    Example: crumbcall ledger check
    """
    with JournalReader.open(home.journal_file) as journal:
        state, stamp = journal.load()
        replayed = replay(event for _, event in journal.read())
    if replayed != state:
        raise JournalError(
            f"{home.journal_file}: the events lead to another state than the snapshot; "
            "copy the file away and report it."
        )
    click.echo(
        f"{stamp.sequence if stamp else 0} events, {state.last_batch} batches; replayed: the same state."
    )


@ledger_command.command("backup")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def backup(home: Home, file: Path) -> None:
    """Write a compact copy to a new file; the station may be running.

    Example: crumbcall ledger backup /media/stick/journal.sqlite
    """
    with JournalReader.open(home.journal_file) as journal:
        journal.backup(file)
    click.echo(f"{file} written.")


ledger_command.add_command(export_command)
