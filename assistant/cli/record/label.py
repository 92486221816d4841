"""`crumbcall label`: a tray's label as text, as a file, or out of the printer."""

from collections.abc import Sequence
from pathlib import Path

import click

from assistant.app.paper.documents import Documents, keep_page, keep_pictures, written
from assistant.app.paper.print_apart import Job, PrintApart
from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.home import Home
from assistant.devices.printer.label_sizes import LABEL_SIZES
from assistant.dough.ranges import BATCH_NUMBER, INGREDIENT_G, PORTIONS, TRAY
from assistant.errors import DoughError, PaperError
from assistant.sheets.label import Label, Tray, label_text

PREVIEW = "label.html"
"""Name of the preview in the data folder."""


@click.command("label", cls=FigureCommand)
@click.argument("number", type=Quantity(BATCH_NUMBER), metavar="[NUMBER]", required=False)
@click.option(
    "--tray", type=Quantity(TRAY), metavar="N", help="Number of the tray; without: one for the batch."
)
@click.option("--all", "every", is_flag=True, help="One for each tray of the batch.")
@click.option("--weight", type=Quantity(INGREDIENT_G), metavar="G", help="What is in it, as weighed, g.")
@click.option("--portions", type=Quantity(PORTIONS), metavar="N", help="Portions in it, as counted.")
@click.option("--size", type=click.Choice(list(LABEL_SIZES)), help="Size (mm), not that of the settings.")
@click.option("--print", "wanted", is_flag=True, help="Print it on the printer of the settings.")
@click.option("--preview", is_flag=True, help="As a page for a browser, and say where it is.")
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="Write to this file: .pdf, .png or .html."
)
@click.pass_obj
def label_command(
    home: Home,
    number: int | None,
    tray: int | None,
    every: bool,
    weight: float | None,
    portions: int | None,
    size: str | None,
    wanted: bool,
    preview: bool,
    out: Path | None,
) -> None:
    """Print a tray's label: weight, portions, made at, cold by, use by, allergens.

    Without a number it is that of the last batch. Weights are by the account until you weigh. It is printed
    once the allergens of all that went in are known: crumbcall allergens --help.

    Example: crumbcall label 4 --tray 2 --weight 950 --print
    """
    if every and tray is not None:
        raise DoughError(f"--all and --tray {tray}: one of the two is allowed; leave the other out.")
    if every and (weight is not None or portions is not None):
        raise DoughError(
            "--all is for every tray, --weight and --portions for one; give --tray and one of them."
        )
    if sum((wanted, preview, out is not None)) > 1:
        raise DoughError("--print, --preview and --out: one of them is allowed; leave the others out.")
    if size is not None and not (wanted or preview or out is not None):
        raise DoughError("--size is for --print, --preview and --out; give one of them too.")
    documents = Documents.of(home)
    trays = None if every else [Tray(tray, weight, portions)]
    labels = documents.labels(number, trays)
    if wanted:
        batch = number or documents.sheet(None).number
        job = Job(str(home.config), str(home.data), "label", batch, tray, every, weight, portions, size)
        printed(documents, job)
        click.echo(f"{len(labels)} printed.")
    elif preview or out is not None:
        _keep(documents, labels, size, home.data / PREVIEW if out is None else out)
    else:
        click.echo("\n\n".join(map(label_text, labels)))


def printed(documents: Documents, job: Job) -> None:
    """Print a job in a process of its own. Raises PaperError, one line, where it is not printed."""
    ended = PrintApart(documents.settings.printer.limit_s)(job)
    if ended.failure is not None:
        raise PaperError(ended.line)


def _keep(documents: Documents, labels: Sequence[Label], size: str | None, out: Path) -> None:
    """Write labels to a file of the kind that its name says."""
    match out.suffix.lower():
        case ".html":
            keep_page(out, documents.label_preview(labels, size))
        case ".pdf":
            written(out, documents.label_pages(labels, size)[1].pdf)
        case ".png":
            _, made = documents.label_pages(labels, size)
            for file in keep_pictures(out, made, documents.settings.printer.dots_per_mm):
                click.echo(f"{file} written.")
            return
        case _:
            raise PaperError(f"{out}: allowed are .pdf, .png and .html; give it such a name.")
    click.echo(f"{out} written.")
