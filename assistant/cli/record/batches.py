"""`crumbcall batches` and `sheet`: the account of each batch."""

import json
from dataclasses import asdict
from pathlib import Path

import click

from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.ranges import BATCH_NUMBER
from assistant.errors import JournalError
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
