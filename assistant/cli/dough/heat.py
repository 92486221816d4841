"""`crumbcall dough temperature|ice`: the heat of flour, water, mixing and the die."""

from typing import Any

import click

from assistant.app.keeping.reading import read_journal
from assistant.cli.dough.answers import Answer, answers, flour_argument, refuse_ignored
from assistant.cli.quantity import Quantity
from assistant.config.home import Home
from assistant.dough import temperature as tmp
from assistant.dough.calculators import die_heat as die
from assistant.dough.hydration import hydration_pct
from assistant.dough.ranges import (
    CELSIUS,
    DIE_KJ_PER_KG,
    DOUGH_C,
    HEAT_KJ_PER_KG,
    HYDRATION_PCT,
    ICE_C,
    WATER_C,
    WATER_TO_TEMPER_G,
)
from assistant.errors import DoughError
from assistant.station.learned.die_book import DieBook


@answers("temperature")
@flour_argument
@click.argument("water", type=Quantity(WATER_TO_TEMPER_G), metavar="WATER_G")
@click.option("--flour-temp", "flour_c", type=Quantity(CELSIUS), metavar="C", required=True, help="Flour, C.")
@click.option(
    "--dough-temp",
    "dough_c",
    type=Quantity(DOUGH_C),
    metavar="C",
    required=True,
    help=f"Dough as wanted, C; or as measured. Above {DOUGH_C.most:g} C gluten is damaged.",
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
@click.option(
    "--die-heat",
    type=Quantity(DIE_KJ_PER_KG),
    metavar="KJ_PER_KG",
    help=f"Energy of the press at the die, kJ/kg (default: {die.USUAL_KJ_PER_KG:g}).",
)
@click.option("--die", "die_name", help="A die, with its own energy by the temperatures that were told.")
@click.pass_obj
def temperature(
    home: Home,
    flour: float,
    water: float,
    flour_c: float,
    dough_c: float,
    water_c: float | None,
    room: float | None,
    heat: tuple[float, ...],
    die_heat: float | None,
    die_name: str | None,
) -> Answer:
    """Water temperature for a wanted dough by heat balance; or the heat of mixing of a measured batch.

    Figures may be in degrees F: "68F". With both, how warm the dough may leave the die.

    Example: crumbcall dough temperature 1000 310 --flour-temp 20 --dough-temp 28 --heat 5.5 --heat 6.1
    """
    if die_name is not None:
        refuse_ignored("beside --die; leave one of them out", **{"--die-heat": die_heat})
    if water_c is not None:
        refuse_ignored(
            "beside --water-temp; leave one of them out", **{"--heat": heat or None, "--room": room}
        )
        found = tmp.heat_of_mixing_kj_per_kg(flour, flour_c, water, water_c, dough_c)
        text = f"Mixing gave {found:.2f} kJ per kg of dough. "
        text += f"Give it as --heat {found:.2f} to reckon the next water."
        values: dict[str, Any] = {"heat_kj_per_kg": found}
    else:
        text, values = _water(flour, water, flour_c, dough_c, room, heat)
    if (word := tmp.too_warm(dough_c)) is not None:
        values["warning"] = word
        text += f"\n{word}."
    if die_name is None:
        energy, whose = die.USUAL_KJ_PER_KG if die_heat is None else die_heat, die.AUTHORITY
    else:
        energy, whose = _learned(home, die_name)
    at_die, of_die = _at_the_die(flour, water, dough_c, energy, whose)
    return f"{text}\n{at_die}", values | of_die


def _learned(home: Home, name: str) -> tuple[float, str]:
    """Energy of a die (kJ/kg), and by what it is known. Raises DoughError where it is not."""
    with read_journal(home.journal_file) as journal:
        figures = DieBook(journal).figures()
    known = {known: one.energy for known, one in figures.items() if known and one.energy is not None}
    found = known.get(" ".join(name.casefold().split()))
    if found is None:
        there = f"known are {', '.join(known)}" if known else "none is known yet"
        raise DoughError(
            f"die {name!r}: no temperature was told of it, {there}; say in a batch: dough, and its "
            "temperature; exit, and that of the strand."
        )
    error = "" if found.error is None else f", give or take {found.error:.0f}"
    count = f"{found.readings} {'reading' if found.readings == 1 else 'readings'}"
    return found.kj_per_kg, f"By {count} of this die{error}"


def _water(
    flour: float, water: float, flour_c: float, dough_c: float, room: float | None, heat: tuple[float, ...]
) -> Answer:
    """The water for a wanted dough."""
    learned = tmp.learned_heat(heat)
    mean = learned.mean if learned else 0.0
    wanted = tmp.water_temperature_c(flour, flour_c, water, dough_c, mean)
    values: dict[str, Any] = {"water_c": wanted, "heat_kj_per_kg": mean, "batches": len(heat)}
    basis = (
        f"heat of mixing {mean:.2f} kJ/kg, {len(heat)} measured" if learned else "no heat of mixing measured"
    )
    text = f"Water at {_both(wanted)} ({basis})."
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


def _at_the_die(flour: float, water: float, dough_c: float, energy: float, whose: str) -> Answer:
    """How warm the dough may leave the die, with whose figure that is."""
    pct = HYDRATION_PCT.check(hydration_pct(water, flour))
    out = dough_c + die.rise_c(pct, dough_c, energy)
    text = (
        f"Out of the die at {_both(out)} at most, if {energy:.3g} kJ/kg stay in it and nothing cools it. "
        f"{whose}; measure the strand, and keep it below {DOUGH_C.most:g} C."
    )
    return text, {"die_c": out, "die_kj_per_kg": energy}


def _both(celsius: float) -> str:
    """A temperature in both degrees."""
    return f"{celsius:.1f} C ({tmp.fahrenheit(celsius):.0f} F)"


@answers("ice")
@click.argument("water", type=Quantity(WATER_TO_TEMPER_G), metavar="WATER_G")
@click.argument("tap", type=Quantity(WATER_C), metavar="TAP_C")
@click.argument("wanted", type=Quantity(WATER_C), metavar="WANTED_C")
@click.option(
    "--ice-temp",
    "ice_c",
    type=Quantity(ICE_C),
    metavar="C",
    default=0.0,
    show_default=True,
    help="The ice, C: 0 where it melts already, that of the freezer where it comes from there.",
)
def ice(water: float, tap: float, wanted: float, ice_c: float) -> Answer:
    """Ice that replaces part of the water, so that all of it is as cold as wanted.

    Example: crumbcall dough ice 465 20 10 --ice-temp=-18
    """
    found = tmp.ice_g(water, tap, wanted, ice_c)
    text = f"{found:.1f} g of ice at {ice_c:g} C and {water - found:.1f} g of water at {tap:g} C "
    text += f"make {water:g} g at {_both(wanted)}. All of the ice must be melted before the water is poured."
    return text, {"ice_g": found, "water_g": water - found, "celsius": wanted, "ice_c": ice_c}
