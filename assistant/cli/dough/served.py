"""`crumbcall dough yield|drying`: what a dough comes to, cooked or dried."""

import click

from assistant.cli.dough.answers import Answer, answers, flour_argument, target_option
from assistant.cli.quantity import Quantity
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough import yields
from assistant.dough.calculators.drying import DRY_PCT, DRY_US_PCT, dried_g
from assistant.dough.moisture import REFERENCE_MOISTURE_PCT, moisture_of_hydration_pct
from assistant.dough.ranges import (
    BATCH_FLOUR_G,
    DRYING_PCT,
    FLOUR_MOISTURE_PCT,
    INGREDIENT_G,
    LOSS_PCT,
    PORTION_G,
    PORTIONS,
)


@answers("yield")
@flour_argument
@target_option
@click.option(
    "--loss", type=Quantity(LOSS_PCT), metavar="PCT", help="Scrap and loss, % (default: the settings')."
)
@click.option(
    "--portion", type=Quantity(PORTION_G), metavar="G", help="Raw portion, g (default: the settings')."
)
@click.option(
    "--moisture",
    type=Quantity(FLOUR_MOISTURE_PCT),
    metavar="PCT",
    default=REFERENCE_MOISTURE_PCT,
    show_default=True,
    help="The flour's own moisture, %, for the cooked weight.",
)
@click.option(
    "--portions",
    "wanted",
    type=Quantity(PORTIONS),
    metavar="N",
    help="Portions that are wanted: FLOUR_G is then that of one batch.",
)
@click.pass_obj
def yield_(
    home: Home,
    flour: float,
    target: float | None,
    loss: float | None,
    portion: float | None,
    moisture: float,
    wanted: int | None,
) -> Answer:
    """Dough, portions and cooked weight of a mass of flour; or flour and batches for a number of portions.

    Example: crumbcall dough yield 1500 --portions 40 --loss 4
    """
    settings = Settings.load(home.settings_file)
    pct = settings.batch.target_pct if target is None else target
    lost = settings.plan.loss_pct if loss is None else loss
    size = settings.batch.portion_g if portion is None else portion
    dough = yields.dough_g(flour, pct)
    found = yields.yield_of(dough, moisture_of_hydration_pct(pct, moisture), size, lost)
    cooked = {"cooked_portion_g": found.cooked_portion_g, "hydration_pct": pct}
    about = f"about {found.cooked_portion_g:.1f} g each cooked."
    if wanted is not None:
        BATCH_FLOUR_G.check(flour)
        needed = yields.flour_for_portions_g(wanted, size, lost, pct)
        batches = yields.batches_for(wanted, found.portions)
        text = f"{needed:.1f} g of flour for {wanted} portions of {size:g} g: {batches} "
        text += f"{'batch' if batches == 1 else 'batches'} of {flour:g} g, {about}"
        return text, {"flour_g": needed, "batches": batches, "portions": wanted} | cooked
    text = (
        f"{dough:.1f} g of dough, {found.net_g:.1f} g after {lost:g} % loss: {found.portions} portions of "
        f"{size:g} g, {about}"
    )
    return text, {"dough_g": dough, "net_g": found.net_g, "portions": found.portions} | cooked


@answers("drying")
@click.argument("mass", type=Quantity(INGREDIENT_G), metavar="MASS_G")
@click.argument("moisture", type=Quantity(DRYING_PCT), metavar="MOISTURE_PCT")
@click.option(
    "--to",
    "wanted",
    type=Quantity(DRYING_PCT),
    metavar="PCT",
    default=DRY_PCT,
    show_default=True,
    help="Moisture of the dried pasta, %.",
)
def drying(mass: float, moisture: float, wanted: float) -> Answer:
    """Weight at which pasta is dry, from its weight and moisture now.

    Moisture of a fresh dough: crumbcall dough moisture. Weigh the pasta without its tray. The most in Italy
    is 12.5 % (DPR 187/2001 art. 6), in the United States 13 % (21 CFR 139.110).

    Example: crumbcall dough drying 1000 34.35
    """
    found = dried_g(mass, moisture, wanted)
    text = (
        f"Dry at {found:.1f} g: {mass:g} g at {moisture:g} % loses {mass - found:.1f} g down to {wanted:g} %."
    )
    if wanted > DRY_PCT:
        over = "Italy's" if wanted <= DRY_US_PCT else "Italy's and the United States'"
        text += f" That is above {over} limit for dried pasta."
    text += (
        "\nWeight says how dry it is, not that it keeps: dry it evenly and without delay; local codes count."
    )
    return text, {"dried_g": found, "loses_g": mass - found, "moisture_pct": wanted}
