"""`crumbcall batches`, `sheet` and `journal`: what the station wrote down."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from assistant.batch.record.evolving.evolve import replay
from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.ranges import BATCH_NUMBER, EVENTS
from assistant.errors import JournalError
from assistant.journal.codec import event_text
from assistant.journal.reader import JournalReader
from assistant.sheets import SheetWords, batch_table, build_sheet, sheet_markdown, sheet_text


@click.command("batches")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a batch.")
@click.pass_obj
def batches_command(home: Home, as_json: bool) -> None:
    """List all batches, oldest first.

    Example: crumbcall batches
    """
    with JournalReader.open(home.journal_file) as journal:
        lines = journal.batches()
    if as_json:
        for line in lines:
            click.echo(json.dumps(asdict(line), ensure_ascii=False, default=str))
    elif lines:
        click.echo("\n".join(batch_table(lines, _words(home))))
    else:
        click.echo("No batch yet; open one with: new batch, and the flour.")


def _words(home: Home) -> SheetWords:
    """The words of the station's language."""
    return SheetWords.of(home, Settings.load(home.settings_file).station.language)


@click.command("sheet", cls=FigureCommand)
@click.argument("number", type=Quantity(BATCH_NUMBER), metavar="[NUMBER]", required=False)
@click.option("--markdown", is_flag=True, help="Markdown instead of text.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="Write to this file.")
@click.pass_obj
def sheet_command(home: Home, number: int | None, markdown: bool, out: Path | None) -> None:
    """Print the sheet of a batch; the last one where no number is given.

    Example: crumbcall sheet 4 --markdown
    """
    with JournalReader.open(home.journal_file) as journal:
        lines = journal.batches()
        if not lines:
            raise JournalError("No batch yet, so there is no sheet; open one with: new batch, and the flour.")
        sheet = build_sheet(journal.batch(number or lines[-1].number))
    words = _words(home)
    text = sheet_markdown(sheet, words) if markdown else sheet_text(sheet, words)
    if out is None:
        click.echo(text)
        return
    try:
        out.write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        raise JournalError(f"{out} can't be written ({error.strerror}); choose another place.") from None


@click.group("journal")
def journal_command() -> None:
    """Look at the journal, check it, copy it.

    Example: crumbcall journal check
    """


@journal_command.command("show")
@click.option(
    "--last", type=Quantity(EVENTS), metavar="N", default=20, show_default=True, help="How many events."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object an event.")
@click.pass_obj
def show(home: Home, last: int, as_json: bool) -> None:
    """Print the last events.

    Example: crumbcall journal show --last 50
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


@journal_command.command("check")
@click.pass_obj
def check(home: Home) -> None:
    """Replay every event and compare with the state that the station resumes from.

    Example: crumbcall journal check
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


@journal_command.command("backup")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def backup(home: Home, file: Path) -> None:
    """Write a compact copy to a new file; the station may be running.

    Example: crumbcall journal backup /media/stick/journal.sqlite
    """
    with JournalReader.open(home.journal_file) as journal:
        journal.backup(file)
    click.echo(f"{file} written.")
