"""`crumbcall plan`: batches, order and start times for a service."""

import json
import re
from dataclasses import asdict

import click

from assistant.app.adapters import real_clock
from assistant.app.application import Application, open_application
from assistant.cli.quantity import FigureCommand, read_figure
from assistant.config.day_plan import FILE, DayPlan, read_plan, write_plan
from assistant.config.home import Home
from assistant.dough.ranges import PORTIONS
from assistant.dough.shift_plan import Order, ShiftPace, plan_shift
from assistant.errors import SettingsError
from assistant.sheets.layout import columns

_TIME = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
_ORDER = re.compile(r"\s*(\w+)(?:\s+([^=]+?))?\s*=\s*([^=]+)")


@click.command("plan", cls=FigureCommand)
@click.argument("orders", nargs=-1)
@click.option("--service", default="18:00", show_default=True, help="When all must be through the die.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a batch.")
@click.pass_obj
def plan_command(home: Home, orders: tuple[str, ...], service: str, as_json: bool) -> None:
    """Plan a shift from portions: batches under the hopper, their order, start times; kept for the station.

    Each order is a shape, a recipe if it is not the plain dough, and portions. Without any: print the plan
    that is kept. A station that is running takes it at its next start.

    Example: crumbcall plan --service 18:30 "rigatoni=40" "tagliatelle egg=20"
    """
    app = open_application(home)
    if orders:
        found = _planned(app, orders, service)
        home.make()
        write_plan(home.data / FILE, found)
    else:
        kept = read_plan(home.data / FILE)
        if kept is None:
            raise SettingsError(
                'No plan is kept; make one with: crumbcall plan --service 18:30 "rigatoni=40".'
            )
        found = kept
    if as_json:
        for batch in found.batches:
            click.echo(json.dumps(asdict(batch), ensure_ascii=False))
        return
    head = ("start", "pasta", "flour", "water", "portions")
    rows = [
        (
            one.start,
            f"{one.die} {one.recipe or ''}".strip(),
            f"{one.flour_g:g} g",
            f"{one.water_g:.0f} g",
            f"{one.portions}",
        )
        for one in found.batches
    ]
    click.echo("\n".join(columns([head, *rows], frozenset({2, 3, 4}))))
    click.echo(
        f"Service {found.service}. Plain, egg, coloured, then ink and fish; "
        "a changeover is no allergen clean."
    )


def _planned(app: Application, orders: tuple[str, ...], service: str) -> DayPlan:
    at = _TIME.fullmatch(service)
    if at is None:
        raise SettingsError(f"--service {service!r} is not a time of day; write it as 18:30.")
    rules, wanted = app.rules, app.settings.plan
    pace = ShiftPace(
        target_pct=rules.target_pct,
        portion_g=rules.portion_g,
        hopper_g=rules.hopper_g,
        loss_pct=wanted.loss_pct,
        mix_s=rules.first_mix_s + rules.target_mix_s,
        rest_s=rules.rest_s,
        extrude_g_per_min=wanted.extrude_g_per_min,
        changeover_s=wanted.changeover_s,
    )
    seconds = int(at.group(1)) * 3600.0 + int(at.group(2)) * 60.0
    key = str(round(real_clock().wall()))
    batches = plan_shift([_order(app, text) for text in orders], pace, seconds, key)
    return DayPlan(service, tuple(batches))


def _order(app: Application, text: str) -> Order:
    found = _ORDER.fullmatch(text)
    if found is None:
        raise SettingsError(
            f"{text!r} is not an order; write a shape, a recipe if it has one, and portions, "
            'as "tagliatelle egg=20".'
        )
    die, recipe, portions = found.groups()
    count = int(read_figure(PORTIONS, portions, f"{die}: portions"))
    return Order(die, count, app.recipes.find(recipe) if recipe else None)
