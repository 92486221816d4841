"""`crumbcall dough hydration|moisture|store|rescue|blend|oven`: flour and water."""

from typing import Any

import click

from assistant.cli.dough.answers import (
    Answer,
    answers,
    flour_argument,
    moisture_option,
    refuse_ignored,
    target_option,
    target_pct,
    water_argument,
)
from assistant.cli.quantity import USUAL_WATER_C, Quantity, read_figure
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough import hydration as hyd
from assistant.dough import moisture as moi
from assistant.dough import yields
from assistant.dough.amounts import grams_of_ml, millilitres_of_g
from assistant.dough.flour import store_air
from assistant.dough.ranges import (
    AIR_HUMIDITY_PCT,
    DISH_G,
    DOUGH_MOISTURE_PCT,
    FLOUR_G,
    FLOUR_MOISTURE_PCT,
    HOPPER_G,
    HYDRATION_PCT,
    SAMPLE_G,
    STORE_C,
    VOLUME_C,
    WATER_G,
    WATER_ML,
)
from assistant.errors import DoughError

_BOTH = 2
"""Figures of `dough moisture` where none of them is wanted."""


@answers("hydration")
@flour_argument
@click.argument("water", metavar="[WATER_G]", required=False)
@target_option
@moisture_option
@click.option("--ml", is_flag=True, help="The water was measured in millilitres.")
@click.option(
    "--celsius",
    type=Quantity(VOLUME_C),
    metavar="C",
    help=f"Its temperature, where it is a volume (default: {USUAL_WATER_C:g}).",
)
@click.pass_obj
def hydration(
    home: Home,
    flour: float,
    water: str | None,
    target: float | None,
    moisture: float | None,
    ml: bool,
    celsius: float | None,
) -> Answer:
    """Hydration of flour and water; without water, the water that the target takes.

    Example: crumbcall dough hydration 1500 465 --moisture 14
    """
    at = USUAL_WATER_C if celsius is None else celsius
    if water is None:
        refuse_ignored(
            "without WATER_G; give it, or leave that out", **{"--ml": ml or None, "--celsius": celsius}
        )
        wanted = target_pct(home, target)
        grams = hyd.water_for_g(flour, wanted)
    else:
        refuse_ignored("beside WATER_G; leave one of them out", **{"--target": target})
        grams = (
            grams_of_ml(read_figure(WATER_ML, water), at) if ml else read_figure(WATER_G, water, water_c=at)
        )
        if not ml and _is_mass(water):
            refuse_ignored("beside a mass; write the water in ml, or leave it out", **{"--celsius": celsius})
        wanted = HYDRATION_PCT.check(hyd.hydration_pct(grams, flour))
    values: dict[str, Any] = {"flour_g": flour, "water_g": grams, "hydration_pct": wanted}
    values["water_ml"] = millilitres_of_g(grams, at)
    text = f"{grams:.1f} g water in {flour:g} g flour: {wanted:.2f} % hydration"
    if moisture is not None:
        values["moisture_pct"] = moi.dough_moisture_pct(flour, moisture, grams)
        text += f", {values['moisture_pct']:.2f} % moisture on flour of {moisture:g} %"
    return f"{text}.", values


def _is_mass(water: str) -> bool:
    """Whether water was given as a mass, which weighs the same whatever its temperature."""
    cold, warm = (read_figure(WATER_G, water, water_c=celsius) for celsius in VOLUME_C.bounds)
    return cold == warm


@answers("moisture")
@click.argument("figures", nargs=-1, metavar="[HYDRATION_PCT] FLOUR_MOISTURE_PCT")
@click.option(
    "--to",
    "other",
    type=Quantity(FLOUR_MOISTURE_PCT),
    metavar="PCT",
    help="Moisture of another flour that is to make the same dough, %.",
)
@click.option(
    "--want",
    type=Quantity(DOUGH_MOISTURE_PCT),
    metavar="PCT",
    help="Moisture of the dough that is wanted, %, in the place of HYDRATION_PCT.",
)
def moisture(figures: tuple[str, ...], other: float | None, want: float | None) -> Answer:
    """Moisture of the dough (wet basis) at a hydration, and the hydration for a flour of another moisture.

    Example: crumbcall dough moisture 31 14 --to 12.67
    """
    if len(figures) != (_BOTH if want is None else 1):
        needed = (
            "HYDRATION_PCT and FLOUR_MOISTURE_PCT" if want is None else "--want and FLOUR_MOISTURE_PCT alone"
        )
        example = "31 14" if want is None else "14 --want 33"
        raise DoughError(f"figures given: {len(figures)}; {needed} are needed; write {example}.")
    moisture = read_figure(FLOUR_MOISTURE_PCT, figures[-1])
    if want is None:
        hydration = read_figure(HYDRATION_PCT, figures[0])
    else:
        hydration = HYDRATION_PCT.check(
            moi.hydration_of_moisture_pct(want, moisture), "hydration that this takes"
        )
    dough = moi.moisture_of_hydration_pct(hydration, moisture)
    values = {"hydration_pct": hydration, "flour_moisture_pct": moisture, "moisture_pct": dough}
    text = (
        f"{hydration:.2f} % hydration on flour of {moisture:g} % moisture is "
        f"{dough:.2f} % moisture of the dough."
    )
    if other is not None:
        values["other_moisture_pct"] = other
        values["other_hydration_pct"] = moi.corrected_hydration_pct(hydration, moisture, other)
        text += f"\nThe same dough on flour of {other:g} %: {values['other_hydration_pct']:.2f} % hydration."
    return text, values


@answers("store")
@click.argument("humidity", type=Quantity(AIR_HUMIDITY_PCT), metavar="HUMIDITY_PCT")
@click.option(
    "--celsius",
    type=Quantity(STORE_C),
    metavar="C",
    default=store_air.USUAL_STORE_C,
    show_default=True,
    help="Temperature of the store, C.",
)
@click.option(
    "--hydration",
    type=Quantity(HYDRATION_PCT),
    metavar="PCT",
    help=f"Hydration that suits flour of {store_air.DELIVERED_PCT:g} % moisture, %.",
)
def store(humidity: float, celsius: float, hydration: float | None) -> Answer:
    """Moisture of flour by the humidity of the air where it is kept, and the hydration that is likely then.

    Example: crumbcall dough store 60 --celsius 22 --hydration 31
    """
    found, prior = store_air.equilibrium_pct(humidity, celsius), store_air.moisture_prior(humidity, celsius)
    values: dict[str, Any] = {
        "equilibrium_pct": found,
        "likely_pct": prior.moisture_pct,
        "sd_points": prior.sd_points,
    }
    text = (
        f"Flour that lies open for weeks at {humidity:g} % and {celsius:g} C: {found:.1f} % moisture. "
        f"A lot of unknown moisture: likely {prior.moisture_pct:.1f} %, give or take {prior.sd_points:.1f}."
    )
    if hydration is not None:
        likely, give = prior.hydration_pct(hydration), prior.sd_of_hydration(hydration)
        values |= {"hydration_pct": likely, "hydration_sd_points": give}
        text += (
            f"\n{hydration:g} % at {store_air.DELIVERED_PCT:g} % moisture is {likely:.1f} % on it, "
            f"give or take {give:.1f}: the squeeze decides."
        )
    return f"{text}\n{store_air.AUTHORITY}.", values


@answers("rescue")
@flour_argument
@water_argument
@target_option
@click.option(
    "--hopper",
    type=Quantity(HOPPER_G),
    metavar="G",
    help="What the hopper holds, g (default: the settings').",
)
@click.pass_obj
def rescue(home: Home, flour: float, water: float, target: float | None, hopper: float | None) -> Answer:
    """Flour that brings a dough that is too wet down to high and to target, and whether the hopper holds it.

    Whole grams, rounded up: the figure that the voice says in a batch. With --target it is to that hydration.

    Example: crumbcall dough rescue 1000 345 --target 31
    """
    batch = Settings.load(home.settings_file).batch
    holds = batch.hopper_g if hopper is None else hopper
    wanted = batch.target_pct if target is None else target
    # The mark of the kitchen's own has its name; high comes first, as in the voice.
    marks = {f"target, {wanted:g} %": wanted} if target is None else {f"{wanted:g} %": wanted}
    if target is None:
        marks = {f"high, {batch.high_pct:g} %": batch.high_pct} | marks
    rescues = {mark: yields.rescue(flour, water, pct, holds) for mark, pct in marks.items()}
    found = rescues[list(marks)[-1]]
    lines = [_rescued(one, mark, holds, flour + water) for mark, one in rescues.items() if one.whole_g > 0]
    if not lines:
        lines = [f"{hyd.hydration_pct(water, flour):.2f} % is not above {wanted:g} %: no flour needed."]
    values = {
        "flour_to_add_g": found.flour_g,
        "whole_g": found.whole_g,
        "dough_g": found.dough_g,
        "target_pct": wanted,
        "hopper_g": holds,
        "over_hopper_g": found.over_hopper_g,
    }
    if target is None:
        to_high = next(iter(rescues.values()))
        values |= {"high_pct": batch.high_pct, "to_high_g": to_high.flour_g}
        values |= {"to_high_whole_g": to_high.whole_g}
    return "\n".join(lines), values


def _rescued(found: yields.Rescue, mark: str, holds: float, in_hopper: float) -> str:
    """One figure with its mark; where the hopper is too small for it, what a batch says then."""
    fits, over = f"the hopper of {holds:g} g holds it", found.over_hopper_g
    if over > 0:
        out, then = found.with_room_made(in_hopper)
        fits = f"{over:.1f} g over the hopper, or {out:.0f} g out and {then:.0f} g of flour to the rest"
    return f"{found.whole_g:.0f} g of flour to {mark}: {found.dough_g:.1f} g of dough, {fits}."


@answers("blend")
@click.argument("parts", nargs=-1, required=True, metavar="GRAMS@MOISTURE_PCT...")
@click.option(
    "--hydration",
    type=Quantity(HYDRATION_PCT),
    metavar="PCT",
    help="Hydration that suits flour of --at moisture, %.",
)
@click.option(
    "--at",
    "basis",
    type=Quantity(FLOUR_MOISTURE_PCT),
    metavar="PCT",
    help=f"Moisture of the flour that --hydration suits, % (default: {moi.REFERENCE_MOISTURE_PCT:g}).",
)
def blend(parts: tuple[str, ...], hydration: float | None, basis: float | None) -> Answer:
    """Moisture of a blend of two lots or more, and the hydration that it wants.

    Example: crumbcall dough blend 600@13.2 400@14.6 --hydration 31
    """
    if hydration is None:
        refuse_ignored("without --hydration; give both, or none", **{"--at": basis})
    at_pct = moi.REFERENCE_MOISTURE_PCT if basis is None else basis
    flours = []
    for part in parts:
        grams, at, moisture = part.partition("@")
        if not at:
            raise DoughError(f"{part!r} is not a lot of a blend; write GRAMS@MOISTURE_PCT, as 600@13.2.")
        flours.append((read_figure(FLOUR_G, grams), read_figure(FLOUR_MOISTURE_PCT, moisture)))
    found = moi.blend_moisture_pct(flours)
    values = {"flour_g": sum(grams for grams, _ in flours), "moisture_pct": found}
    text = f"{values['flour_g']:g} g of flour at {found:.2f} % moisture."
    if hydration is not None:
        values["hydration_pct"] = moi.corrected_hydration_pct(hydration, at_pct, found)
        text += f" {hydration:g} % at {at_pct:g} % moisture is {values['hydration_pct']:.2f} % on it."
    return text, values


@answers("oven")
@click.argument("before", type=Quantity(SAMPLE_G), metavar="BEFORE_G")
@click.argument("after", type=Quantity(SAMPLE_G), metavar="AFTER_G")
@click.option(
    "--dish",
    type=Quantity(DISH_G),
    metavar="G",
    default=0.0,
    show_default=True,
    help="The empty dish, g, where both include it.",
)
def oven(before: float, after: float, dish: float) -> Answer:
    """Flour's moisture from its mass before and after drying in the oven.

    Example: crumbcall dough oven 25.000 24.300 --dish 20
    """
    found = moi.oven_moisture_pct(before, after, dish)
    passed = moi.limits_passed(found)
    text = f"{found:.2f} % moisture (wet basis), {moi.dry_basis_pct(found):.2f} per 100 of dry matter."
    if passed:
        text += f" Above the limit for semolina of {' and '.join(passed)}."
    text += f"\nMethod: {moi.OVEN_METHODS}."
    return text, {"moisture_pct": found, "above_limits_of": passed, "method": moi.OVEN_METHODS}
