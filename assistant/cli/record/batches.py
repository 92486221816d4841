"""`crumbcall batches` and `sheet`: the account of each batch."""

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

import click

from assistant.app.adapters import real_clock
from assistant.app.keeping.reading import read_journal
from assistant.app.paper.documents import Documents, keep_page, written
from assistant.app.paper.kitchen_allergens import kitchen_allergens
from assistant.app.paper.print_apart import Job
from assistant.batch.decide.making.flour import left_of_plan
from assistant.batch.record.printing.print_kinds import PrintedWhat
from assistant.batch.record.timer_kinds import tray_of
from assistant.cli.quantity import FigureCommand, Quantity
from assistant.cli.record.dies import die_lines
from assistant.cli.record.label import printed
from assistant.cli.record.year import show_year
from assistant.config.day_plan import FILE, read_plan
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough.ranges import BATCH_NUMBER, YEAR
from assistant.errors import JournalError
from assistant.sheets import SheetWords, batch_table, sheet_markdown, sheet_text
from assistant.sheets.charts.batch_figure import batch_figure
from assistant.sheets.charts.drawing import write_figure
from assistant.sheets.day_account import day_figures, day_of, day_sheet
from assistant.station.learned.die_book import DieBook

PAGED = (".pdf", ".html")
"""Files that hold a page of A4."""


@click.command("batches")
@click.option("--dies", is_flag=True, help="What each die puts through, and how warm, by the last batches.")
@click.option("--year", type=Quantity(YEAR), metavar="YEAR", help="What a year adds up to, by months.")
@click.option(
    "--figure", type=click.Path(path_type=Path, dir_okay=False), help="Draw the year, three SVG or PNG."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a batch, a die or a month.")
@click.pass_obj
def batches_command(home: Home, dies: bool, year: int | None, figure: Path | None, as_json: bool) -> None:
    """List all batches, oldest first; or what they say of each die, or of a year.

    Example: crumbcall batches --year 2026 --figure year.svg
    """
    if figure is not None and year is None:
        raise JournalError(
            "--figure draws a year: name it, as crumbcall batches --year 2026 --figure year.svg."
        )
    if year is not None and dies:
        raise JournalError("--dies is of the last batches, --year of a year; leave one of them out.")
    if year is not None:
        show_year(home, year, _words(home), figure, as_json=as_json)
        return
    with read_journal(home.journal_file) as journal:
        if dies:
            click.echo(die_lines(DieBook(journal).figures(), as_json=as_json), nl=not as_json)
            return
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
@click.option("--day", "whole_day", is_flag=True, help="Of a day instead of a batch: today, or --date.")
@click.option(
    "--date", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of --day, as 2026-03-02."
)
@click.option("--markdown", is_flag=True, help="Markdown instead of text.")
@click.option("--print", "wanted", is_flag=True, help="Print it on A4, by the settings.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write to this file; .pdf and .html are one A4 page.",
)
@click.option(
    "--figure", type=click.Path(path_type=Path, dir_okay=False), help="Draw the batch over time, SVG or PNG."
)
@click.pass_obj
def sheet_command(
    home: Home,
    number: int | None,
    whole_day: bool,
    date: datetime | None,
    markdown: bool,
    wanted: bool,
    out: Path | None,
    figure: Path | None,
) -> None:
    """Print the sheet of a batch; the last one where no number is given.

    Example: crumbcall sheet 4 --out sheet.pdf
    """
    paged = out is not None and out.suffix.lower() in PAGED
    if whole_day and figure is not None:
        raise JournalError("--figure draws one batch, --day is a day; leave one of them out.")
    if whole_day and (number is not None or markdown):
        raise JournalError("--day is the sheet of a day, not Markdown; leave the number and --markdown out.")
    if date is not None and not (whole_day and (wanted or paged)):
        raise JournalError("--date is for --day with --print, or --out to a .pdf or .html; give these too.")
    if wanted and (markdown or out is not None):
        raise JournalError("--print is for paper; leave --markdown and --out out.")
    if markdown and paged:
        raise JournalError(f"{out}: a page is no Markdown; leave --markdown out, or name a .md.")
    day = day_of(real_clock().wall()) if date is None else f"{date:%Y-%m-%d}"
    if figure is not None:
        documents = Documents.of(home)
        write_figure(batch_figure(documents.sheet(number), documents.words), figure)
    if wanted:
        batch = None if whole_day else number
        what: PrintedWhat = "day" if whole_day else "sheet"
        documents = Documents.of(home)
        printed(documents, Job(str(home.config), str(home.data), what, batch, day=day))
        click.echo("Printed.")
        return
    if out is not None and paged:
        documents = Documents.of(home)
        html, made = documents.day_page(day) if whole_day else documents.sheet_page(number)
        if out.suffix.lower() == ".pdf":
            written(out, made.pdf)
        else:
            keep_page(out, html)
        return
    if whole_day:
        _write(_day_text(home), out)
        return
    documents = Documents.of(home)
    kitchen = kitchen_allergens(home, documents.settings)
    write = sheet_markdown if markdown or (out is not None and out.suffix == ".md") else sheet_text
    _write(write(documents.sheet(number), documents.words, kitchen=kitchen), out)


def _day_text(home: Home) -> str:
    wall, plan = real_clock().wall(), read_plan(home.data / FILE)
    with read_journal(home.journal_file) as journal:
        made = day_figures(journal.batches(), journal.batch, wall, stock=read_stock(home.config / LOTS_FILE))
        state, _ = journal.load()
    trays = [tray_of(timer.name) for timer in state.timers if timer.kind == "tray"]
    planned = sum(one.flour_g for one in left_of_plan(state, plan.batches if plan else ()))
    documents = Documents.of(home)
    return day_sheet(made, day_of(wall), trays, planned, documents.words, station=documents.station_name)


def _write(text: str, out: Path | None) -> None:
    if out is None:
        click.echo(text)
        return
    try:
        out.write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        raise JournalError(f"{out} can't be written ({error.strerror}); choose another place.") from None
