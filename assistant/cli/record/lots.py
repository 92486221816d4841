"""`crumbcall lots`: what the kitchen's batches say of its flour."""

import json
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import click

from assistant.app.adapters import real_clock
from assistant.app.group.membership import lots_of
from assistant.app.keeping.reading import read_journal
from assistant.cli.quantity import FigureCommand, Quantity
from assistant.config.flour_lots import FILE, StockedLot, read_stock
from assistant.config.home import Home
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.dough.flour.staging import first_pour_g, first_water_g, first_water_pct
from assistant.dough.flour_memory import USUAL_NOISE, FlourMemory
from assistant.dough.ingredients import additions_water_g
from assistant.dough.lots import Forecast, LotRecord, by_lot
from assistant.dough.ranges import BATCH_FLOUR_G, LOT_DIGITS, LOTS
from assistant.dough.recipe import RecipePlan
from assistant.errors import DoughError
from assistant.journal.summaries import LotBatch
from assistant.sheets import SheetWords
from assistant.sheets.charts.drawing import write_figure
from assistant.sheets.charts.lot_figure import lot_figure
from assistant.sheets.charts.lots_figure import lots_figure
from assistant.sheets.formats import day_text
from assistant.station.forecasts import PLAIN, FlourBook, records


@dataclass(frozen=True, slots=True)
class _FirstPours:
    """First pours as the station names them to the next batch of this flour (g)."""

    flour_g: float
    target_pct: float
    share: float
    plans: Mapping[str, RecipePlan]

    def of(self, forecast: Forecast) -> float:
        """Water to pour (g), what the recipe's wet ingredients bring taken off."""
        plan = self._plan(forecast)
        target = plan.target_pct if plan else self.target_pct
        first = first_water_g(self.flour_g, target, self.share, forecast)
        return first_pour_g(first, additions_water_g(plan.additions(self.flour_g)) if plan else 0.0)

    def pct(self, forecast: Forecast) -> float:
        """The same as hydration (%), with what wet ingredients bring."""
        plan = self._plan(forecast)
        return first_water_pct(forecast, plan.target_pct if plan else self.target_pct, self.share)

    def beside(self, forecast: Forecast) -> str:
        """What brings water beside it."""
        plan = self._plan(forecast)
        wet = [one.name for one in plan.additions(self.flour_g) if one.water_g > 0] if plan else []
        return f" beside the {' and '.join(wet)}" if wet else ""

    def _plan(self, forecast: Forecast) -> RecipePlan | None:
        """The recipe that the forecast is for; None: plain dough, or a recipe that is no more."""
        return self.plans.get(forecast.recipe) if forecast.recipe else None


@click.command("lots", cls=FigureCommand)
@click.argument("lot", required=False)
@click.option(
    "--flour",
    "flour_g",
    type=Quantity(BATCH_FLOUR_G),
    metavar="G",
    default=1500.0,
    show_default=True,
    help="Flour of a batch, g.",
)
@click.option(
    "--most", type=Quantity(LOTS), metavar="N", default=8, show_default=True, help="Lots last used."
)
@click.option("--seasons", is_flag=True, help="What each flour type wants in each season.")
@click.option(
    "--figure", type=click.Path(path_type=Path, dir_okay=False), help="Draw one lot, or all, SVG or PNG."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.pass_obj
def lots_command(
    home: Home,
    lot: str | None,
    flour_g: float,
    most: int,
    seasons: bool,
    figure: Path | None,
    as_json: bool,
) -> None:
    """What each flour lot will likely want, how sure that is, and the first pour that stays below it.

    Example: crumbcall lots 12 --flour 1500 --figure lot12.svg
    """
    if figure is not None and seasons:
        raise DoughError("--figure draws lots, and --seasons has none; leave one of them out.")
    stock = read_stock(home.config / FILE)
    with read_journal(home.journal_file) as journal:
        settings = Settings.load(home.settings_file)
        rules = settings.rules
        plans = Recipes.load(Pantry.load(home.config / OWN_FILE), home.config / OWN_FOLDER).plans
        clock = real_clock()
        # The station's own figures: it learns from the same batches, and asks the same functions.
        everywhere = lots_of(home, settings, journal)
        book = FlourBook(everywhere, stock, clock.wall, rules.target_pct, plans, rules.cook or None)
        pours = _FirstPours(flour_g, rules.target_pct, rules.first_pour_share, plans)
        shown = everywhere.lot_batches(most, also=lot)
        known = by_lot({one.lot: one for one in records(shown, stock, plans)})
        if lot is not None:
            _check_lot(lot, {batch.lot for batch in shown} | stock.keys() | {one.lot for one in known})
        today = clock.wall() / 86_400.0
        if seasons:
            _seasons(FlourMemory(known, rules.target_pct), as_json)
        elif lot is None:
            shown_lots = [(one, book.of(one)) for one in known]
            if figure is not None:
                drawn = [(one, forecast, pours.pct(forecast)) for one, forecast in shown_lots]
                write_figure(lots_figure(drawn, _words(home)), figure)
            _table(shown_lots, stock, today, pours, as_json)
        else:
            _one(home, book, known, shown, lot, stock, today, pours, figure, as_json)


def _check_lot(lot: str, known: Set[str]) -> None:
    """Raise DoughError for what can't be a lot: not known in the kitchen and not digits."""
    if lot in known or (lot.isascii() and lot.isdigit() and len(lot) <= LOT_DIGITS):
        return
    there = f" or a lot of this kitchen ({', '.join(sorted(known)[:5])})" if known else ""
    raise DoughError(
        f"lot {lot[:40]!r}: up to {LOT_DIGITS} digits{there} are allowed; write it as crumbcall lots 471."
    )


def _table(
    shown: list[tuple[LotRecord, Forecast]],
    stock: dict[str, StockedLot],
    today: float,
    pours: _FirstPours,
    as_json: bool,
) -> None:
    # The lot last used comes first: its noise is that of the kitchen now.
    noise_pct = shown[0][1].noise_pct if shown else USUAL_NOISE
    if as_json:
        click.echo(
            json.dumps({"lots": [_object(f, pours) for _, f in shown], "noise_pct": round(noise_pct, 3)})
        )
        return
    if not shown:
        click.echo("No closed batch names its lot yet; say: lot, and its digits, before a batch is closed.")
        return
    click.echo(f"{'lot':<14}{'flour':<20}{'batches':>8}{'likely':>8}{'90 %':>14}{'first pour':>12}  ")
    for record, forecast in shown:
        click.echo(_row(record, forecast, stock, pours, today))
    click.echo(
        f"Batch noise {noise_pct:.2f} points. First pour for {pours.flour_g:g} g of flour, "
        "beside a recipe's wet ingredients; the cook decides."
    )


def _row(
    record: LotRecord, forecast: Forecast, stock: dict[str, StockedLot], pours: _FirstPours, today: float
) -> str:
    interval = f"{forecast.low_pct:.1f}-{forecast.high_pct:.1f}"
    row = f"{record.lot:<14}{record.flour:<20}{forecast.batches:>8}{forecast.likely_pct:>8.1f}"
    row += f"{interval:>14}{pours.of(forecast):>10.0f} g"
    notes = _notes(forecast, stock.get(record.lot.split(" ")[0]), today)
    return f"{row}  {'; '.join(notes)}".rstrip()


def _notes(forecast: Forecast, stocked: StockedLot | None, today: float) -> list[str]:
    notes = []
    if forecast.drift_points:
        way = "takes more" if forecast.drift_points > 0 else "takes less"
        notes.append(f"{way} than it did, {forecast.drift_points:+.1f} points: check how it is stored")
    if forecast.calls_climb:
        notes.append(f"climbed {forecast.climbed} batches running: check how it is stored, and the scales")
    if stocked and stocked.best_before and stocked.best_before < date.fromisoformat(day_text(today)):
        notes.append(f"best before {stocked.best_before} is past")
    return notes


def _one(
    home: Home,
    book: FlourBook,
    known: list[LotRecord],
    batches: Sequence[LotBatch],
    lot: str,
    stock: dict[str, StockedLot],
    today: float,
    pours: _FirstPours,
    figure: Path | None,
    as_json: bool,
) -> None:
    forecast = book.forecast(lot)
    record = next((one for one in known if one.lot == lot), LotRecord(lot, forecast.flour))
    history = [batch for batch in batches if lot == batch.lot]
    if figure is not None:
        words = _words(home)
        closed = {batch.number: batch.hydration_pct for batch in history if batch.station is None}
        write_figure(lot_figure(record, forecast, pours.pct(forecast), words, closed), figure)
    if as_json:
        figures = {**_object(forecast, pours), **_stocked(stock.get(lot))}
        click.echo(json.dumps({**figures, "history": [_batch(batch) for batch in history]}))
        return
    for batch in history:
        crumb = ", ".join(f"{verdict} at {pct:.1f}" for verdict, pct in batch.squeezes) or "not squeezed"
        recipe = f", {batch.recipe}" if batch.recipe else ""
        elsewhere = f" of {batch.station}" if batch.station else ""
        far = ", far outside its marks: not counted" if batch.far else ""
        click.echo(
            f"{day_text(batch.ended_wall / 86_400)}  batch {batch.number}{elsewhere}{recipe}: "
            f"{batch.hydration_pct:.1f} % ({crumb}){far}"
        )
    click.echo(_sentence(forecast, pours))
    for recipe in dict.fromkeys(batch.recipe for batch in history if batch.recipe not in (None, PLAIN)):
        click.echo(_sentence(book.forecast(lot, recipe), pours))
    for note in _notes(forecast, stock.get(lot), today):
        click.echo(f"{note[0].upper()}{note[1:]}.")


def _words(home: Home) -> SheetWords:
    """The words of the station's language."""
    return SheetWords.of(home, Settings.load(home.settings_file).station.language)


def _sentence(forecast: Forecast, pours: _FirstPours) -> str:
    known = (
        f"{forecast.batches} batches"
        if forecast.known
        else "nothing is known of this lot, only what other lots and the kitchen's target say"
    )
    return (
        f"Lot {forecast.lot}: likely {forecast.likely_pct:.1f} %, "
        f"nine of ten between {forecast.low_pct:.1f} and {forecast.high_pct:.1f}; {known}. "
        f"First pour {pours.of(forecast):.0f} g{pours.beside(forecast)} for {pours.flour_g:g} g of flour: "
        "below the end in nineteen of twenty batches."
    )


def _seasons(memory: FlourMemory, as_json: bool) -> None:
    lines = memory.seasons()
    if as_json:
        rows = [
            {
                "flour": line.flour,
                "season": line.season,
                "lots": line.lots,
                "mean_pct": round(line.mean_pct, 2),
                "low_pct": round(line.low_pct, 2),
                "high_pct": round(line.high_pct, 2),
            }
            for line in lines
        ]
        click.echo(json.dumps({"seasons": rows}))
        return
    for line in lines:
        click.echo(
            f"{line.flour:<20}{line.season:<10}{line.lots:>4} lots  {line.mean_pct:.1f} % "
            f"({line.low_pct:.1f}-{line.high_pct:.1f})"
        )


def _object(forecast: Forecast, pours: _FirstPours) -> dict[str, Any]:
    return {
        "lot": forecast.lot,
        "flour": forecast.flour,
        "batches": forecast.batches,
        "likely_pct": round(forecast.likely_pct, 2),
        "low_pct": round(forecast.low_pct, 2),
        "high_pct": round(forecast.high_pct, 2),
        "first_pour_pct": round(pours.pct(forecast), 2),
        "first_pour_g": pours.of(forecast),
        "flour_g": pours.flour_g,
        "drift_points": round(forecast.drift_points, 2),
        "noise_pct": round(forecast.noise_pct, 2),
        "climbed_batches": forecast.climbed,
    }


def _stocked(stocked: StockedLot | None) -> dict[str, Any]:
    if stocked is None:
        return {"stocked": None}
    return {
        "stocked": {
            "supplier": stocked.supplier,
            "received": stocked.received and stocked.received.isoformat(),
            "best_before": stocked.best_before and stocked.best_before.isoformat(),
            "moisture_pct": stocked.moisture_pct,
        }
    }


def _batch(batch: LotBatch) -> dict[str, Any]:
    return {
        "batch": batch.number,
        "station": batch.station,
        "recipe": batch.recipe,
        "closed": day_text(batch.ended_wall / 86_400),
        "hydration_pct": round(batch.hydration_pct, 2),
        "told": dict(batch.conditions),
        "squeezes": [{"crumb": verdict, "hydration_pct": round(pct, 2)} for verdict, pct in batch.squeezes],
    }
