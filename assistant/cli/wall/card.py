"""`crumbcall card`: the phrase card for the wall."""

from pathlib import Path

import click

from assistant.app.application import open_application
from assistant.app.paper.documents import Documents, keep_page, keep_pictures, written
from assistant.config.home import Home
from assistant.config.language.card_groups import FILE, read_card_groups
from assistant.errors import PaperError
from assistant.sheets import SheetWords
from assistant.sheets.paper.card_fitting import set_card
from assistant.sheets.phrase_card import card_blocks, card_text

PICTURE_DOTS_PER_MM = 8.0
"""203 dpi: letters of a wall card need no more."""
KINDS = (".pdf", ".png", ".html")


@click.command("card")
@click.option(
    "--out",
    "--figure",
    "file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write it as one page: .pdf, .png or .html.",
)
@click.pass_obj
def card_command(home: Home, file: Path | None) -> None:
    """Print the phrase card for the wall: what can be said, in the order of a batch.

    Example: crumbcall card --out card.pdf
    """
    app = open_application(home)
    language = app.settings.station.language
    groups = read_card_groups(home.language_file(FILE, language))
    phrases, words = app.grammar.phrases(), SheetWords.of(home, language)
    if file is None:
        click.echo(card_text(card_blocks(groups, phrases, words), words))
        return
    kind = file.suffix.lower()
    if kind not in KINDS:
        raise PaperError(f"{file}: the card is written as {', '.join(KINDS)}; name a file that ends so.")
    html, made = set_card(groups, phrases, words, Documents(home, app.settings, words).look)
    match kind:
        case ".html":
            keep_page(file, html)
        case ".png":
            keep_pictures(file, made, PICTURE_DOTS_PER_MM)
        case _:
            written(file, made.pdf)
    click.echo(f"{file} written.")
