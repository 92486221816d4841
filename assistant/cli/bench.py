"""`crumbcall bench`: the budgets' table, measured here."""

import json
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from assistant.app.application import open_application
from assistant.app.budgets import Figure, measure
from assistant.config.home import Home


@click.command("bench")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.option(
    "--events",
    type=click.IntRange(min=1000),
    default=1_000_000,
    show_default=True,
    help="Size of the journal to resume from.",
)
@click.pass_obj
def bench_command(home: Home, as_json: bool, events: int) -> None:
    """Measure this machine against the budgets; a figure over its budget is marked, not an error.

    Example: crumbcall bench --events 100000
    """
    figures: list[Figure] = []
    with TemporaryDirectory() as folder:
        for figure in measure(partial(open_application, home), Path(folder), events=events):
            figures.append(figure)
            if not as_json:
                mark = "" if figure.met else "   over budget"
                click.echo(
                    f"{figure.what:<42} {figure.value:9.3g} {figure.unit:<3} budget {figure.budget:g}{mark}"
                )
    if as_json:
        found = [
            {"what": f.what, "value": f.value, "unit": f.unit, "budget": f.budget, "met": f.met}
            for f in figures
        ]
        click.echo(json.dumps(found))
