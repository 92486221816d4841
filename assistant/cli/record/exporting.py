"""`crumbcall ledger export`: the record as tables for other programs."""

import json
from pathlib import Path

import click

from assistant.app.keeping.reading import read_journal
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.home import Home
from assistant.errors import JournalError
from assistant.journal.exporting.descriptor import descriptor
from assistant.journal.exporting.export import WORKBOOK, export
from assistant.journal.exporting.tables import TABLES
from assistant.journal.exporting.text_files import WRITERS


@click.command("export")
@click.argument("target", type=click.Path(path_type=Path), required=False)
@click.option(
    "--format", "form", type=click.Choice(list(WRITERS)), help="How a folder's files are written (csv)."
)
@click.option("--force", is_flag=True, help="Replace what an export before has written there.")
@click.option("--schema", is_flag=True, help="Only print what the tables are, as a JSON Data Package.")
@click.pass_obj
def export_command(home: Home, target: Path | None, form: str | None, *, force: bool, schema: bool) -> None:
    """Write batches, pours, crumbs, timers, trays, scrap and lots as tables for other programs.

    TARGET is a folder, which gets a file a table and their schema, or a workbook that ends in .xlsx. Times
    are in ISO 8601 with their offset. In CSV a text that a spreadsheet could take for a formula has an
    apostrophe in front. The station may be running.

    Example: crumbcall ledger export /media/stick/march
    """
    if schema:
        if target is not None or force:
            raise JournalError("--schema only prints: leave the folder and --force out.")
        click.echo(json.dumps(descriptor(form or "csv"), indent=2, ensure_ascii=False))
        return
    if target is None:
        raise JournalError(f"name a folder, or a workbook that ends in {WORKBOOK}: ledger export march.xlsx")
    if target.suffix.lower() == WORKBOOK and form is not None:
        raise JournalError(f"{target.name} is a workbook, --format {form} is for a folder; leave one out.")
    stock = read_stock(home.config / LOTS_FILE)
    with read_journal(home.journal_file) as journal:
        count = export(journal, target, stock, form=form or "csv", force=force)
    click.echo(f"{target} written: {count} rows in {len(TABLES)} tables.")
