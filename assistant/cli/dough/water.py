"""`crumbcall dough hydration|moisture|rescue|temperature|ice|blend|oven`: flour, water and heat."""

from typing import Any

import click

from assistant.cli.dough.answers import (
    Answer,
    answers,
    flour_argument,
    moisture_option,
    target_option,
    target_pct,
    water_argument,
)
from assistant.cli.quantity import USUAL_WATER_C, Quantity, read_figure
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.dough import hydration as hyd
from assistant.dough import moisture as moi
from assistant.dough import temperature as tmp
from assistant.dough import yields
from assistant.dough.amounts import grams_of_ml, millilitres_of_g
from assistant.dough.ranges import (
    CELSIUS,
    DISH_G,
    DOUGH_MOISTURE_PCT,
    FLOUR_G,
    FLOUR_MOISTURE_PCT,
    HEAT_KJ_PER_KG,
    HOPPER_G,
    HYDRATION_PCT,
    SAMPLE_G,
    VOLUME_C,
    WATER_C,
    WATER_G,
    WATER_ML,
    WATER_TO_TEMPER_G,
)
from assistant.errors import DoughError


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
    default=USUAL_WATER_C,
    show_default=True,
    help="Its temperature, for --ml.",
)
@click.pass_obj
def hydration(
    home: Home,
    flour: float,
    water: str | None,
    target: float | None,
    moisture: float | None,
    ml: bool,
    celsius: float,
) -> Answer:
    """Hydration of flour and water; without water, the water that the target takes.

    Example: crumbcall dough hydration 1500 465 --moisture 14
    """
    if water is None:
        wanted = target_pct(home, target)
        grams = hyd.water_for_g(flour, wanted)
    else:
        grams = (
            grams_of_ml(read_figure(WATER_ML, water), celsius)
            if ml
            else read_figure(WATER_G, water, water_c=celsius)
        )
        wanted = HYDRATION_PCT.check(hyd.hydration_pct(grams, flour))
    values: dict[str, Any] = {"flour_g": flour, "water_g": grams, "hydration_pct": wanted}
    values["water_ml"] = millilitres_of_g(grams, celsius)
    text = f"{grams:.1f} g water in {flour:g} g flour: {wanted:.2f} % hydration"
    if moisture is not None:
        values["moisture_pct"] = moi.dough_moisture_pct(flour, moisture, grams)
        text += f", {values['moisture_pct']:.2f} % moisture on flour of {moisture:g} %"
    return f"{text}.", values


@answers("moisture")
@click.argument("hydration", type=Quantity(HYDRATION_PCT), metavar="HYDRATION_PCT")
@click.argument("moisture", type=Quantity(FLOUR_MOISTURE_PCT), metavar="FLOUR_MOISTURE_PCT")
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
    help="Moisture of the dough that is wanted, %, instead of the hydration's.",
)
def moisture(hydration: float, moisture: float, other: float | None, want: float | None) -> Answer:
    """Moisture of the dough (wet basis) at a hydration, and the hydration for a flour of another moisture.

    Example: crumbcall dough moisture 31 14 --to 12.67
    """
    if want is not None:
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
    """Flour that brings a dough that is too wet down to a hydration, and whether the hopper holds it.

    Example: crumbcall dough rescue 1000 345 --target 31
    """
    wanted = target_pct(home, target)
    holds = Settings.load(home.settings_file).batch.hopper_g if hopper is None else hopper
    found = yields.rescue(flour, water, wanted, holds)
    text = f"{found.flour_g:.1f} g of flour brings it to {wanted:g} %: {found.dough_g:.1f} g of dough, "
    fits = found.over_hopper_g <= 0
    text += (
        f"the hopper of {holds:g} g holds it." if fits else f"{found.over_hopper_g:.1f} g over the hopper."
    )
    if found.flour_g == 0:
        text = f"{hyd.hydration_pct(water, flour):.2f} % is not above {wanted:g} %: no flour needed."
    return text, {
        "flour_to_add_g": found.flour_g,
        "dough_g": found.dough_g,
        "target_pct": wanted,
        "hopper_g": holds,
        "over_hopper_g": found.over_hopper_g,
    }


@answers("temperature")
@flour_argument
@click.argument("water", type=Quantity(WATER_TO_TEMPER_G), metavar="WATER_G")
@click.option("--flour-temp", "flour_c", type=Quantity(CELSIUS), metavar="C", required=True, help="Flour, C.")
@click.option(
    "--dough-temp",
    "dough_c",
    type=Quantity(CELSIUS),
    metavar="C",
    required=True,
    help="Dough as wanted, C; or as measured.",
)
@click.option(
    "--water-temp",
    "water_c",
    type=Quantity(WATER_C),
    metavar="C",
    help="Water as it was: then the heat of mixing is reckoned.",
)
@click.option(
    "--room",
    type=Quantity(CELSIUS),
    metavar="C",
    help="Room, C: shows the bakers' rule of three for comparison.",
)
@click.option(
    "--heat",
    multiple=True,
    type=Quantity(HEAT_KJ_PER_KG),
    metavar="KJ_PER_KG",
    help="Heat of mixing as reckoned of a batch, kJ/kg; may be repeated.",
)
def temperature(
    flour: float,
    water: float,
    flour_c: float,
    dough_c: float,
    water_c: float | None,
    room: float | None,
    heat: tuple[float, ...],
) -> Answer:
    """Water temperature for a wanted dough by heat balance; or the heat of mixing of a measured batch.

    Example: crumbcall dough temperature 1000 310 --flour-temp 20 --dough-temp 28 --heat 5.5 --heat 6.1
    """
    if water_c is not None:
        found = tmp.heat_of_mixing_kj_per_kg(flour, flour_c, water, water_c, dough_c)
        text = f"Mixing gave {found:.2f} kJ per kg of dough. "
        text += f"Give it as --heat {found:.2f} to reckon the next water."
        return text, {"heat_kj_per_kg": found}
    learned = tmp.learned_heat(heat)
    mean = learned.mean if learned else 0.0
    wanted = tmp.water_temperature_c(flour, flour_c, water, dough_c, mean)
    values: dict[str, Any] = {"water_c": wanted, "heat_kj_per_kg": mean, "batches": len(heat)}
    basis = (
        f"heat of mixing {mean:.2f} kJ/kg, {len(heat)} measured" if learned else "no heat of mixing measured"
    )
    text = f"Water at {wanted:.1f} C ({basis})."
    if (why := tmp.usable_water(wanted)) is not None:
        values["unusable"] = why
        text += f" That is {why}."
    if room is not None:
        rule_c = tmp.three_factor_water(dough_c, room, flour_c, 0.0)
        values |= {"three_factor_c": rule_c, "three_factor_error_c": rule_c - wanted}
        text += (
            f"\nThe bakers' rule of three says {rule_c:.1f} C, {rule_c - wanted:+.1f} C off: "
            "it takes the masses for equal."
        )
    return text, values


@answers("ice")
@click.argument("water", type=Quantity(WATER_TO_TEMPER_G), metavar="WATER_G")
@click.argument("tap", type=Quantity(WATER_C), metavar="TAP_C")
@click.argument("wanted", type=Quantity(WATER_C), metavar="WANTED_C")
def ice(water: float, tap: float, wanted: float) -> Answer:
    """Ice that replaces part of the water, so that all of it is as cold as wanted.

    Example: crumbcall dough ice 465 20 10
    """
    found = tmp.ice_g(water, tap, wanted)
    text = f"{found:.1f} g of ice and {water - found:.1f} g of water at {tap:g} C "
    text += f"make {water:g} g at {wanted:g} C."
    return text, {"ice_g": found, "water_g": water - found, "celsius": wanted}


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
    default=moi.REFERENCE_MOISTURE_PCT,
    show_default=True,
    help="%.",
)
def blend(parts: tuple[str, ...], hydration: float | None, basis: float) -> Answer:
    """Moisture of a blend of two lots or more, and the hydration that it wants.

    Example: crumbcall dough blend 600@13.2 400@14.6 --hydration 31
    """
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
        values["hydration_pct"] = moi.corrected_hydration_pct(hydration, basis, found)
        text += f" {hydration:g} % at {basis:g} % moisture is {values['hydration_pct']:.2f} % on it."
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
