"""`crumbcall ledger`: the record of all that happened, event by event."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from assistant.app.adapters import real_clock
from assistant.app.keeping.journal_keeping import copies_of, repair, restore
from assistant.app.keeping.reading import read_journal
from assistant.cli.quantity import Quantity
from assistant.cli.record.exporting import export_command
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.ranges import EVENTS
from assistant.errors import JournalError
from assistant.journal.codec import event_text
from assistant.journal.guard.copies import copies_in, copy_name, keep_copy
from assistant.journal.guard.verifying import Verified, as_values, verified
from assistant.journal.reader import JournalReader

AT_MOST = 30_000
"""Events of a journal up to which a check replays all of them."""


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
    with read_journal(home.journal_file) as journal:
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
@click.option("--all", "whole", is_flag=True, help="Replay all events, however many there are.")
@click.pass_obj
def check(home: Home, whole: bool) -> None:
    """Verify the checksum chain, and replay events to the state that the station resumes from.

    Of a long journal the last events are replayed, and all of them with --all.

    Example: crumbcall ledger check
    """
    path = home.journal_file
    with JournalReader.open(path) as journal:
        found = verified(journal.connection, path)
        _raise_where_unsound(path, found)
        state, stamp = journal.load()
        replayed, count = journal.replayed(None if whole else AT_MOST)
    if replayed != state:
        raise JournalError(
            f"{path}: the events lead to another state than the snapshot; copy the file away and report it."
        )
    events = stamp.sequence if stamp else 0
    if count >= found.events:
        said = "replayed: the same state."
    elif count:
        said = f"all as written; the last {count} replayed: the same state."
    else:
        said = "all as written; none since the last snapshot of the state. --all replays all."
    click.echo(f"{events} events, {state.last_batch} batches; {said}")


@ledger_command.command("verify")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.pass_obj
def verify(home: Home, as_json: bool) -> None:
    """Hold every decision against the checksum chain; name the first that is not what was written.

    Example: crumbcall ledger verify
    """
    path = home.journal_file
    with JournalReader.open(path) as journal:
        found = verified(journal.connection, path)
    if as_json:
        click.echo(json.dumps(as_values(found), ensure_ascii=False))
    _raise_where_unsound(path, found)
    if not as_json:
        aside = sum(one.entries for one in found.set_aside)
        more = f" {aside} entries were set aside before." if aside else ""
        click.echo(f"{found.events} events in {found.decisions} decisions: all are what was written.{more}")
        for one in found.set_aside:
            click.echo(f"  decision {one.decision}: {one.why}; found: {one.found or 'nothing'}")


@ledger_command.command("repair")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.pass_obj
def repair_command(home: Home, as_json: bool) -> None:
    """Mend what the checksums prove, set aside what they don't vouch for. Stop the station first.

    Example: crumbcall ledger repair
    """
    done = repair(home, Settings.load(home.settings_file).station.id)
    aside = sum(one.entries for one in done.set_aside)
    if as_json:
        moved = str(done.moved_aside) if done.moved_aside else None
        values = {"events": done.events, "mended": done.mended, "set_aside": aside, "moved_aside": moved}
        click.echo(json.dumps(values, ensure_ascii=False))
        return
    moved_to = f" The broken file is in {done.moved_aside}." if done.moved_aside else ""
    click.echo(f"{done.events} events are read. {done.mended} mended, {aside} set aside.{moved_to}")
    for one in done.set_aside:
        click.echo(f"  decision {one.decision}: {one.why}; found: {one.found or 'nothing'}")


@ledger_command.command("backup")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False)
@click.pass_obj
def backup(home: Home, file: Path | None) -> None:
    """Write a copy to a new file, or to today's of the daily ones; the station may be running.

    Example: crumbcall ledger backup /media/stick/journal.sqlite
    """
    if file is None:
        made = keep_copy(home.journal_file, copies_of(home), real_clock().wall())
        today = copy_name(copies_of(home), real_clock().wall())
        click.echo(f"{made} written." if made else f"{today} is there already; name a file for another.")
        return
    with JournalReader.open(home.journal_file) as journal:
        journal.backup(file)
    click.echo(f"{file} written.")


@ledger_command.command("restore")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def restore_command(home: Home, file: Path) -> None:
    """Put a verified copy in the journal's place, which is kept. Stop the station first.

    Example: crumbcall ledger restore /media/stick/journal-2026-03-02.sqlite
    """
    if not file.is_file():
        there = ", ".join(one.name for one in copies_in(copies_of(home))) or "none"
        raise JournalError(f"{file}: there is no such copy; in {copies_of(home)}: {there}")
    events, moved = restore(home, file)
    kept = f" What was there is in {moved}." if moved else ""
    click.echo(f"{events} events are back.{kept}")


def _raise_where_unsound(path: Path, found: Verified) -> None:
    """One line about the first thing that is not what was written."""
    if found.sound:
        return
    why = found.problems[0].text if found.problems else f"the file is broken ({found.file})"
    more = f", and {len(found.problems) - 1} more" if len(found.problems) > 1 else ""
    raise JournalError(f"{path}: {why}{more}; crumbcall ledger repair sets that aside, and keeps the rest.")


ledger_command.add_command(export_command)
