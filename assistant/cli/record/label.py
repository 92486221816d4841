"""`crumbcall label`: the text of a tray's label."""

import click

from assistant.cli.allergens import HOW_TO_TELL, kitchen_allergens
from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.allergens.lists import without_kind
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.ranges import BATCH_NUMBER, INGREDIENT_G, PORTIONS, TRAY
from assistant.errors import DoughError, JournalError, RecipeError
from assistant.journal.reader import JournalReader
from assistant.sheets import SheetWords, build_sheet
from assistant.sheets.allergens import REGIONS, Found
from assistant.sheets.label import Tray, label_of, label_text


@click.command("label", cls=FigureCommand)
@click.argument("number", type=Quantity(BATCH_NUMBER), metavar="[NUMBER]", required=False)
@click.option(
    "--tray", type=Quantity(TRAY), metavar="N", help="Number of the tray; without: one for the batch."
)
@click.option("--all", "every", is_flag=True, help="One for each tray of the batch.")
@click.option("--weight", type=Quantity(INGREDIENT_G), metavar="G", help="What is in it, as weighed, g.")
@click.option("--portions", type=Quantity(PORTIONS), metavar="N", help="Portions in it, as counted.")
@click.pass_obj
def label_command(
    home: Home,
    number: int | None,
    tray: int | None,
    every: bool,
    weight: float | None,
    portions: int | None,
) -> None:
    """Print a tray's label: weight, portions, made at, cold by, use by, allergens.

    Without a number it is that of the last batch. Weights are by the account until you weigh. It is printed
    once the allergens of all that went in are known: crumbcall allergens --help.

    Example: crumbcall label 4 --tray 2 --weight 950
    """
    if every and tray is not None:
        raise DoughError(f"--all and --tray {tray}: one of the two is allowed; leave the other out.")
    if every and (weight is not None or portions is not None):
        raise DoughError(
            "--all is for every tray, --weight and --portions for one; give --tray and one of them."
        )
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
    chosen = settings.label.allergen_list
    regions = REGIONS if chosen == "both" else (chosen,)
    found = kitchen_allergens(home, settings, recipes=True).of(sheet)
    _refuse_unknown(found, regions, sheet.recipe)
    numbers = list(range(1, sheet.trays + 1)) if every and sheet.trays else [tray]
    words = SheetWords.of(home, settings.station.language)
    days = settings.label.use_by_days
    click.echo(
        "\n\n".join(
            label_text(
                label_of(sheet, words, found, tray=Tray(one, weight, portions), regions=regions, days=days)
            )
            for one in numbers
        )
    )


def _refuse_unknown(found: Found, regions: tuple[str, ...], recipe: str | None) -> None:
    """One line where the label can't say what is in it."""
    if found.unknown:
        names = ", ".join(f'"{name}"' for name in found.unknown)
        raise RecipeError(
            f"no label: the allergens of {names} are not known; read the packet, then "
            f'{HOW_TO_TELL.format(name=found.unknown[0])}, with "none" for none.'
        )
    if lacking := found.lacking(regions):
        name, allergen = lacking[0]
        raise RecipeError(
            f'no label: of "{name}" the kind of {allergen} is not known, which the list wants; say it with '
            f"{HOW_TO_TELL.format(name=name)}, as {allergen}:{_EXAMPLES[allergen]}."
        )
    if kindless := without_kind(found.by_recipe, regions):
        raise RecipeError(
            f'no label: the recipe "{recipe}" names {kindless[0]} without the kind, which the list wants; '
            f'write it in the recipe\'s file, as allergens = ["{kindless[0]}:{_EXAMPLES[kindless[0]]}"].'
        )


_EXAMPLES = {"nuts": "almond", "fish": "cod", "crustaceans": "shrimp"}
