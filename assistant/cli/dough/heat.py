"""`crumbcall dough temperature|ice`: the heat of flour, water and mixing."""

from typing import Any

import click

from assistant.cli.dough.answers import Answer, answers, flour_argument
from assistant.cli.quantity import Quantity
from assistant.dough import temperature as tmp
from assistant.dough.ranges import CELSIUS, HEAT_KJ_PER_KG, WATER_C, WATER_TO_TEMPER_G


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
