"""`crumbcall label`: the text of a tray's label."""

import click

from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.ranges import BATCH_NUMBER, TRAY
from assistant.errors import DoughError, JournalError
from assistant.journal.reader import JournalReader
from assistant.sheets import SheetWords, build_sheet
from assistant.sheets.label import label_text


@click.command("label", cls=FigureCommand)
@click.argument("number", type=Quantity(BATCH_NUMBER), metavar="[NUMBER]", required=False)
@click.option(
    "--tray", type=Quantity(TRAY), metavar="N", help="Number of the tray; without: one for the batch."
)
@click.option("--all", "every", is_flag=True, help="One for each tray of the batch.")
@click.pass_obj
def label_command(home: Home, number: int | None, tray: int | None, every: bool) -> None:
    """Print the label of a tray: batch, lot, made, use by, allergens; without a number, of the last batch.

    Example: crumbcall label 4 --tray 2
    """
    if every and tray is not None:
        raise DoughError(f"--all and --tray {tray}: one of the two is allowed; leave the other out.")
    settings = Settings.load(home.settings_file)
    with JournalReader.open(home.journal_file) as journal:
        lines = journal.batches()
        if not lines:
            raise JournalError("No batch yet, so there is no label; open one with: new batch, and the flour.")
        sheet = build_sheet(journal.batch(number or lines[-1].number))
    if tray is not None and tray > sheet.trays:
        raise JournalError(
            f"batch {sheet.number} has {sheet.trays} trays, not {tray}; "
            "say tray done for each, or leave --tray out."
        )
    trays = list(range(1, sheet.trays + 1)) if every and sheet.trays else [tray]
    words = SheetWords.of(home, settings.station.language)
    click.echo(
        "\n\n".join(label_text(sheet, words, tray=one, days=settings.label.use_by_days) for one in trays)
    )
