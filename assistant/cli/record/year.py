"""`crumbcall batches --year`: what a year adds up to, by months."""

import json
from dataclasses import asdict
from pathlib import Path

import click

from assistant.app.keeping.reading import read_journal
from assistant.config.home import Home
from assistant.sheets import SheetWords
from assistant.sheets.charts.drawing import write_figure
from assistant.sheets.charts.figure import Figure
from assistant.sheets.charts.year_figures import checks_figure, flour_figure, months, over_figure
from assistant.sheets.day_account import span_of_year
from assistant.sheets.layout import columns


def show_year(home: Home, year: int, words: SheetWords, figure: Path | None, *, as_json: bool) -> None:
    """Print a year by its months, and draw it beside: `year.svg` becomes year-flour.svg and two more."""
    with read_journal(home.journal_file) as journal:
        by_month = months(journal.tallies(*span_of_year(year)))
    figures = [draw(by_month, words) for draw in (flour_figure, checks_figure, over_figure)]
    if figure is not None:
        for one in figures:
            write_figure(one, figure.with_name(f"{figure.stem}-{one.name}{figure.suffix}"))
    if as_json:
        for month in by_month:
            click.echo(json.dumps(asdict(month)))
    elif by_month:
        click.echo("\n\n".join(map(_table, figures)))
    else:
        click.echo(f"No batch ended in {year}.")


def _table(figure: Figure) -> str:
    table = figure.table
    return "\n".join([figure.title, *columns([table.head, *table.rows], table.numbers)])
