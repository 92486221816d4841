"""`crumbcall card`: the phrase card for the wall."""

from pathlib import Path

import click

from assistant.app.application import open_application
from assistant.config.home import Home
from assistant.config.language.card_groups import FILE, read_card_groups
from assistant.errors import SettingsError
from assistant.sheets import SheetWords
from assistant.sheets.phrase_card import card_blocks, card_figure, card_text


@click.command("card")
@click.option("--figure", type=click.Path(path_type=Path, dir_okay=False), help="Draw it as an A4 page, SVG.")
@click.pass_obj
def card_command(home: Home, figure: Path | None) -> None:
    """Print the phrase card for the wall: what can be said, in the order of a batch.

    Example: crumbcall card --figure card.svg
    """
    app = open_application(home)
    language = app.settings.station.language
    groups = read_card_groups(home.language_file(FILE, language))
    phrases, words = app.grammar.phrases(), SheetWords.of(home, language)
    if figure is None:
        click.echo(card_text(card_blocks(groups, phrases, words), words))
        return
    drawn = card_figure(groups, phrases, words)
    try:
        figure.write_text(drawn, encoding="utf-8")
    except OSError as error:
        raise SettingsError(f"{figure} can't be written ({error.strerror}); choose another place.") from None
    click.echo(f"{figure} written.")
