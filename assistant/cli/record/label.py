"""`crumbcall label`: the text of a tray's label."""

import click

from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.errors import JournalError
from assistant.journal.reader import JournalReader
from assistant.sheets import SheetWords, build_sheet
from assistant.sheets.label import label_text


@click.command("label")
@click.argument("number", type=click.IntRange(min=1), required=False)
@click.option("--tray", type=click.IntRange(min=1), help="Number of the tray; without: one for the batch.")
@click.option("--all", "every", is_flag=True, help="One for each tray of the batch.")
@click.pass_obj
def label_command(home: Home, number: int | None, tray: int | None, every: bool) -> None:
    """Print the label of a tray: batch, lot, made, use by, allergens; the last batch where no number is given.

    Example: crumbcall label 4 --tray 2
    """
    days = Settings.load(home.settings_file).label.use_by_days
    with JournalReader.open(home.journal_file) as journal:
        lines = journal.batches()
        if not lines:
            raise JournalError("No batch yet, so there is no label; open one with: new batch, and the flour.")
        sheet = build_sheet(journal.batch(number or lines[-1].number))
    if tray is not None and tray > sheet.trays:
        raise JournalError(
            f"batch {sheet.number} has {sheet.trays} trays, not {tray}; say tray done for each, or leave --tray out."
        )
    trays = list(range(1, sheet.trays + 1)) if every and sheet.trays else [tray]
    words = SheetWords.of(home)
    click.echo("\n\n".join(label_text(sheet, words, tray=one, days=days) for one in trays))
