"""`crumbcall plan`: batches, order and start times for a service."""

import json
import re
from dataclasses import asdict
from datetime import datetime
from itertools import count
from pathlib import Path

import click

from assistant.app.adapters import real_clock
from assistant.app.application import Application, open_application
from assistant.app.keeping.reading import read_journal
from assistant.batch.record.state import State
from assistant.cli.planning.day_calendar import pace_of, write_day
from assistant.cli.planning.ordering import as_values, order_text, weeks_of
from assistant.cli.planning.orders import read_order
from assistant.cli.planning.remarks import TO_DO, local, named_pasta, remarks, service_day, status
from assistant.cli.quantity import FigureCommand
from assistant.config.day_plan import FILE, DayPlan, read_plan, write_plan
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.home import Home
from assistant.dough.shift_plan import plan_shift
from assistant.errors import JournalError, SettingsError
from assistant.sheets.day_account import day_figures
from assistant.sheets.layout import columns
from assistant.station.learned.die_book import DieBook

_TIME = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
USUAL_SERVICE = "18:00"


@click.command("plan", cls=FigureCommand)
@click.argument("orders", nargs=-1)
@click.option("--service", help=f"When all must be through the die (default: {USUAL_SERVICE}).")
@click.option("--order", "ordering", is_flag=True, help="Instead: what to order for a week, by the journal.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a batch.")
@click.option(
    "--calendar",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Also write plan and trays as a calendar with alarms (iCalendar, .ics).",
)
@click.pass_obj
def plan_command(
    home: Home,
    orders: tuple[str, ...],
    service: str | None,
    ordering: bool,
    as_json: bool,
    calendar: Path | None,
) -> None:
    """Plan a shift from portions: batches under the hopper, their order, start times; kept for the station.

    Each order is a shape, a recipe if it is not the plain dough, and portions; a recipe alone is one too.
    Without any: print the plan that is kept, and how far it is. A station that is running goes by the new
    plan at once.

    Example: crumbcall plan --service 18:30 "rigatoni=40" "tagliatelle egg=20"
    """
    if ordering:
        if orders or service is not None or calendar is not None:
            raise SettingsError(
                "--order goes by the journal alone: leave orders, --service and --calendar out."
            )
        _order(home, as_json=as_json)
        return
    app = open_application(home)
    kept, wall = read_plan(home.data / FILE), real_clock().wall()
    now = local(wall)
    state, unread = _state(home)
    if orders:
        key = _new_key(round(wall), state, kept)
        found, before = _planned(app, orders, service or USUAL_SERVICE, key, now, _learned(home)), kept
        home.make()
        write_plan(home.data / FILE, found)
    elif service is not None:
        raise SettingsError(
            f"--service {service} would be ignored without orders; write them too, as {_EXAMPLE}."
        )
    elif kept is None:
        raise SettingsError(f"No plan is kept; make one with: crumbcall plan {_EXAMPLE}.")
    else:
        found, before = kept, None
    notes = remarks(found, state, now, app.recipes.plans, before) + unread
    if calendar is not None:
        write_day(calendar, app, found, wall)
        notes.append(f"{calendar} written; write it again when the plan or the trays have changed.")
    _print(found, [status(one, found, state, now) for one in found.batches], notes, as_json=as_json)


def _order(home: Home, *, as_json: bool) -> None:
    """Say what to order for a week. Raises JournalError without a journal."""
    wall = real_clock().wall()
    with read_journal(home.journal_file) as journal:
        batches = journal.batches()
        weeks = weeks_of(batches, journal.batch, wall)
        stock = day_figures(batches, journal.batch, wall, stock=read_stock(home.config / LOTS_FILE))
    if not as_json:
        click.echo(order_text(weeks, stock))
        return
    for one in as_values(weeks, stock):
        click.echo(json.dumps(one, ensure_ascii=False))


_EXAMPLE = '--service 18:30 "rigatoni=40"'


def _print(plan: DayPlan, stands: list[str], notes: list[str], *, as_json: bool) -> None:
    """The plan as a table with its notes, or as JSON with the notes beside it."""
    if as_json:
        for batch, stand in zip(plan.batches, stands, strict=True):
            click.echo(json.dumps(asdict(batch) | {"status": stand}, ensure_ascii=False))
        return
    head = ("start", "pasta", "flour", "water", "portions", "")
    rows = [
        (
            one.start,
            named_pasta(one),
            f"{one.flour_g:g} g",
            f"{one.water_g:.0f} g",
            f"{one.portions}",
            "" if stand == TO_DO else stand,
        )
        for one, stand in zip(plan.batches, stands, strict=True)
    ]
    click.echo("\n".join(line.rstrip() for line in columns([head, *rows], frozenset({2, 3, 4}))))
    click.echo("\n".join(notes))


def _state(home: Home) -> tuple[State, list[str]]:
    """The station's state, by its journal; where that can't be read, an empty one and a line that says so."""
    if not home.journal_file.exists():
        return State(), []
    try:
        with read_journal(home.journal_file) as journal:
            return journal.load()[0], []
    except JournalError as error:
        return State(), [f"What is made is not known: {error}."]


def _learned(home: Home) -> dict[str, float]:
    """Dies that can be planned with, and what each puts through (g a minute); none where it can't be read.

    That the record can't be read is said by what goes by it alone.
    """
    if not home.journal_file.exists():
        return {}
    try:
        with read_journal(home.journal_file) as journal:
            figures = DieBook(journal).figures()
    except JournalError:
        return {}
    return {die: one.planned_g_per_min for die, one in figures.items() if die and one.planned_g_per_min}


def _new_key(wall: int, state: State, kept: DayPlan | None) -> str:
    """What names the batches of a new plan: its wall time (s), or the next that no plan had.

    A clock may have been set back, and a batch with the name of one that is made would count as made.
    """
    planned = state.batch.planned if state.batch else None
    had = {*state.made, planned or "", *(one.key for one in (kept.batches if kept else ()))}
    taken = {one.partition("/")[0] for one in had}
    return next(str(key) for key in count(wall) if str(key) not in taken)


def _planned(
    app: Application,
    orders: tuple[str, ...],
    service: str,
    key: str,
    now: datetime,
    learned: dict[str, float],
) -> DayPlan:
    at = _TIME.fullmatch(service)
    if at is None:
        raise SettingsError(f"--service {service!r} is not a time of day; write it as 18:30.")
    pace = pace_of(app.settings, learned)
    seconds = int(at.group(1)) * 3600.0 + int(at.group(2)) * 60.0
    shapes = {*app.settings.cooking_s, *app.recipes.shapes}
    read = [read_order(text, app.recipes.plans, shapes) for text in orders]
    service = f"{int(at.group(1)):02}:{at.group(2)}"
    batches = tuple(plan_shift(read, pace, seconds, key))
    used = {one.die: learned[one.die] for one in batches if one.die in learned}
    return DayPlan(service, batches, service_day(service, now), used)
