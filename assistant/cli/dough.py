"""`crumbcall dough`: the dough's arithmetic as a calculator for the bench."""

import json
from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from assistant.dough import hydration as hyd
from assistant.dough import moisture as moi
from assistant.dough import temperature as tmp
from assistant.dough import yields
from assistant.dough.checks import between
from assistant.dough.ingredients import dough_with
from assistant.dough.water import grams_of_ml, millilitres_of_g
from assistant.errors import CrumbcallError, DoughError
from assistant.home import Home
from assistant.pantry import OWN_FILE, Pantry
from assistant.recipes import OWN_FOLDER, Recipes
from assistant.settings import Settings

Answer = tuple[str, dict[str, Any]]


@click.group("dough")
def dough_command() -> None:
    """Reckon: hydration, moisture, rescue, temperature, ice, ingredients, recipe, scale, blend, yield, oven.

    Example: crumbcall dough ingredients 1500 "whole egg=300"
    """


def _answers(name: str) -> Callable[[Callable[..., Answer]], click.Command]:
    """A command that prints an answer as text, or its values as one JSON object."""

    def made(answer: Callable[..., Answer]) -> click.Command:
        @wraps(answer)
        def run(as_json: bool, **given: Any) -> None:
            try:
                text, values = answer(**given)
            except CrumbcallError:
                raise
            except ValueError as error:
                raise DoughError(f"{error}; give another figure.") from error
            click.echo(json.dumps({k: _rounded(v) for k, v in values.items()}) if as_json else text)

        option = click.option("--json", "as_json", is_flag=True, help="One JSON object.")
        command: click.Command = dough_command.command(name)(option(run))
        return command

    return made


def _rounded(value: Any) -> Any:
    """Figures to a thousandth: more is noise."""
    if isinstance(value, float):
        return round(value, 3)
    if isinstance(value, list):
        return [_rounded(one) for one in value]
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    return value


_flour = click.argument("flour", type=float, metavar="FLOUR_G")
_water = click.argument("water", type=float, metavar="WATER_G")
_target = click.option("--target", type=float, help="Hydration aimed at, % (default: the settings').")
_moisture = click.option("--moisture", type=float, help="The flour's own moisture, %.")


@_answers("hydration")
@_flour
@click.argument("water", type=float, metavar="[WATER_G]", required=False)
@_target
@_moisture
@click.option("--ml", is_flag=True, help="The water was measured in millilitres.")
@click.option("--celsius", type=float, default=20.0, show_default=True, help="Its temperature, for --ml.")
@click.pass_obj
def hydration(
    home: Home,
    flour: float,
    water: float | None,
    target: float | None,
    moisture: float | None,
    ml: bool,
    celsius: float,
) -> Answer:
    """Hydration of flour and water; without water, the water that the target takes.

    Example: crumbcall dough hydration 1500 465 --moisture 14
    """
    if water is None:
        wanted = _wanted(home, target)
        grams = hyd.water_for_g(flour, wanted)
    else:
        grams = grams_of_ml(water, celsius) if ml else water
        wanted = hyd.hydration_pct(grams, flour)
    values: dict[str, Any] = {"flour_g": flour, "water_g": grams, "hydration_pct": wanted}
    values["water_ml"] = millilitres_of_g(grams, celsius)
    text = f"{grams:.1f} g water in {flour:g} g flour: {wanted:.2f} % hydration"
    if moisture is not None:
        values["moisture_pct"] = moi.dough_moisture_pct(flour, moisture, grams)
        text += f", {values['moisture_pct']:.2f} % moisture on flour of {moisture:g} %"
    return f"{text}.", values


@_answers("moisture")
@click.argument("hydration", type=float, metavar="HYDRATION_PCT")
@click.argument("moisture", type=float, metavar="FLOUR_MOISTURE_PCT")
@click.option(
    "--to", "other", type=float, help="Moisture of another flour that is to give the same dough, %."
)
@click.option(
    "--want", type=float, help="Moisture of the dough that is wanted, %, instead of the hydration's."
)
def moisture(hydration: float, moisture: float, other: float | None, want: float | None) -> Answer:
    """Moisture of the dough (wet basis) at a hydration, and the hydration for a flour of another moisture.

    Example: crumbcall dough moisture 31 14 --to 12.67
    """
    if want is not None:
        hydration = moi.hydration_of_moisture_pct(want, moisture)
    between("hydration", hydration, 0, 1000, "%")
    dough = moi.moisture_of_hydration_pct(hydration, moisture)
    values = {"hydration_pct": hydration, "flour_moisture_pct": moisture, "moisture_pct": dough}
    text = f"{hydration:.2f} % hydration on flour of {moisture:g} % moisture is {dough:.2f} % moisture of the dough."
    if other is not None:
        values["other_moisture_pct"] = other
        values["other_hydration_pct"] = moi.corrected_hydration_pct(hydration, moisture, other)
        text += f"\nThe same dough on flour of {other:g} %: {values['other_hydration_pct']:.2f} % hydration."
    return text, values


@_answers("rescue")
@_flour
@_water
@_target
@click.option("--hopper", type=float, help="What the hopper holds, g (default: the settings').")
@click.pass_obj
def rescue(home: Home, flour: float, water: float, target: float | None, hopper: float | None) -> Answer:
    """Flour that brings a dough that is too wet down to a hydration, and whether the hopper holds it.

    Example: crumbcall dough rescue 1000 345 --target 31
    """
    wanted = _wanted(home, target)
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


@_answers("temperature")
@_flour
@_water
@click.option("--flour-temp", "flour_c", type=float, required=True, help="Flour, C.")
@click.option(
    "--dough-temp", "dough_c", type=float, required=True, help="Dough as wanted, C; or as measured."
)
@click.option(
    "--water-temp", "water_c", type=float, help="Water as it was: then the heat of mixing is reckoned."
)
@click.option("--room", type=float, help="Room, C: shows the bakers' rule of three beside it.")
@click.option(
    "--heat", multiple=True, type=float, help="Heat of mixing as reckoned of a batch, kJ/kg; may be repeated."
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
    """Water temperature for a wanted dough by heat balance; or a machine's heat of mixing from a measured batch.

    Example: crumbcall dough temperature 1000 310 --flour-temp 20 --dough-temp 28 --heat 5.5 --heat 6.1
    """
    if water_c is not None:
        found = tmp.heat_of_mixing_kj_per_kg(flour, flour_c, water, water_c, dough_c)
        text = f"Mixing gave {found:.2f} kJ per kg of dough. Give it as --heat {found:.2f} to reckon the next water."
        return text, {"heat_kj_per_kg": found}
    learned = tmp.learned_heat(heat)
    mean = learned.mean if learned else 0.0
    wanted = tmp.water_temperature_c(flour, flour_c, water, dough_c, mean)
    values: dict[str, Any] = {"water_c": wanted, "heat_kj_per_kg": mean, "batches": len(heat)}
    rests = (
        f"heat of mixing {mean:.2f} kJ/kg, {len(heat)} measured" if learned else "no heat of mixing measured"
    )
    text = f"Water at {wanted:.1f} C ({rests})."
    if (why := tmp.usable_water(wanted)) is not None:
        values["unusable"] = why
        text += f" That is {why}."
    if room is not None:
        values["three_factor_c"] = tmp.three_factor_water(dough_c, room, flour_c, 0.0)
        values["three_factor_error_c"] = values["three_factor_c"] - wanted
        text += (
            f"\nThe bakers' rule of three says {values['three_factor_c']:.1f} C, {values['three_factor_error_c']:+.1f} C "
            "off: it takes the masses for equal."
        )
    return text, values


@_answers("ice")
@_water
@click.argument("tap", type=float, metavar="TAP_C")
@click.argument("wanted", type=float, metavar="WANTED_C")
def ice(water: float, tap: float, wanted: float) -> Answer:
    """Ice that replaces part of the water, so that all of it is as cold as wanted.

    Example: crumbcall dough ice 465 20 10
    """
    found = tmp.ice_g(water, tap, wanted)
    text = f"{found:.1f} g of ice and {water - found:.1f} g of water at {tap:g} C make {water:g} g at {wanted:g} C."
    return text, {"ice_g": found, "water_g": water - found, "celsius": wanted}


@_answers("ingredients")
@click.argument("flour", type=float, metavar="FLOUR_G", default=0.0)
@click.argument("parts", nargs=-1, metavar="NAME=GRAMS[@WATER_PCT]...")
@_target
@_moisture
@click.option("--list", "listed", is_flag=True, help="List the ingredients that are known.")
@click.pass_obj
def ingredients(
    home: Home,
    flour: float,
    parts: tuple[str, ...],
    target: float | None,
    moisture: float | None,
    listed: bool,
) -> Answer:
    """Water left to pour beside wet ingredients; @ gives an ingredient's water content as measured.

    Example: crumbcall dough ingredients 1000 "whole egg=200" "spinach boiled=80@84.5"
    """
    pantry = _pantry(home)
    if listed:
        rows = [{"name": row.name, "water_pct": row.water_pct, "source": row.source} for row in pantry]
        return "\n".join(f"{r['water_pct']:6.2f} %  {r['name']} ({r['source']})" for r in rows), {
            "known": rows
        }
    additions = [pantry.addition(*_part(part)) for part in parts]
    wanted = _wanted(home, target)
    dough = dough_with(flour, wanted, additions, moisture)
    lines = [f"{one.grams:g} g {one.name}: {one.water_g:.1f} g of water" for one in additions]
    lines.append(f"Pour {dough.pour_g:.1f} g of water for {wanted:g} %: {dough.mass_g:.1f} g of dough")
    if dough.moisture_pct is not None:
        lines[-1] += f" of {dough.moisture_pct:.2f} % moisture"
    lines[-1] += "."
    return "\n".join(lines), {
        "pour_g": dough.pour_g,
        "water_g": dough.water_g,
        "dough_g": dough.mass_g,
        "hydration_pct": dough.hydration_pct,
        "moisture_pct": dough.moisture_pct,
        "ingredients": [
            {"name": one.name, "grams": one.grams, "water_pct": one.water_pct, "water_g": one.water_g}
            for one in additions
        ],
    }


@_answers("recipe")
@click.argument("name", required=False)
@click.argument("flour", type=float, metavar="[FLOUR_G]", required=False)
@click.pass_obj
def recipe(home: Home, name: str | None, flour: float | None) -> Answer:
    """A recipe for so much flour; without a name, all recipes of the kitchen.

    Example: crumbcall dough recipe egg 1500
    """
    recipes = Recipes.load(_pantry(home), home.config / OWN_FOLDER)
    if name is None:
        rows = [
            {"recipe": plan.recipe, "target_pct": plan.target_pct, "allergens": list(plan.allergens)}
            for plan in recipes.plans.values()
        ]
        text = "\n".join(
            f"{plan.recipe}: target {plan.target_pct:g} %, allergens {', '.join(plan.allergens)}"
            for plan in recipes.plans.values()
        )
        return text, {"recipes": rows}
    plan = recipes.find(name)
    grams = 1000.0 if flour is None else flour
    additions = plan.additions(grams)
    dough = dough_with(grams, plan.target_pct, additions)
    flours = {flour_name: grams * share / 100.0 for flour_name, share in plan.flours}
    lines = [f"{mass:.1f} g {flour_name}" for flour_name, mass in flours.items()]
    lines += [f"{one.grams:.1f} g {one.name} ({one.water_g:.1f} g of water)" for one in additions]
    lines.append(
        f"{dough.pour_g:.1f} g water for {plan.target_pct:g} %, from {plan.low_pct:g} to {plan.high_pct:g}"
    )
    lines.append(f"{dough.mass_g:.1f} g of dough. Allergens: {', '.join(plan.allergens)}.")
    return "\n".join(lines), {
        "recipe": plan.recipe,
        "flour_g": flours,
        "additions_g": {one.name: one.grams for one in additions},
        "pour_g": dough.pour_g,
        "dough_g": dough.mass_g,
        "target_pct": plan.target_pct,
        "low_pct": plan.low_pct,
        "high_pct": plan.high_pct,
        "allergens": list(plan.allergens),
    }


@_answers("scale")
@click.argument("wanted", type=float, metavar="FLOUR_G")
@click.argument("parts", nargs=-1, required=True, metavar="NAME=GRAMS...")
@click.option("--flour", default="flour", show_default=True, help="Name of the part that is scaled by.")
def scale(wanted: float, parts: tuple[str, ...], flour: str) -> Answer:
    """A batch for another mass of flour.

    Example: crumbcall dough scale 2250 flour=1500 water=465 egg=150
    """
    masses: dict[str, float] = {}
    for part in parts:
        name, grams, water_pct = _part(part)
        if water_pct is not None or name in masses:
            raise DoughError(f"{part!r}: each part once, as NAME=GRAMS; write it so.")
        masses[name] = grams
    found = yields.scaled(masses, flour, wanted)
    return "\n".join(f"{grams:.1f} g {name}" for name, grams in found.items()), {"grams": found}


@_answers("blend")
@click.argument("parts", nargs=-1, required=True, metavar="GRAMS@MOISTURE_PCT...")
@click.option("--hydration", type=float, help="Hydration that suits flour of --at moisture, %.")
@click.option("--at", "basis", type=float, default=moi.REFERENCE_MOISTURE_PCT, show_default=True, help="%.")
def blend(parts: tuple[str, ...], hydration: float | None, basis: float) -> Answer:
    """Moisture of a blend of two lots or more, and the hydration that it wants.

    Example: crumbcall dough blend 600@13.2 400@14.6 --hydration 31
    """
    flours = []
    for part in parts:
        grams, at, moisture = part.partition("@")
        if not at:
            raise DoughError(f"{part!r} is no lot of a blend; write GRAMS@MOISTURE_PCT, as 600@13.2.")
        flours.append((_number(part, grams), _number(part, moisture)))
    found = moi.blend_moisture_pct(flours)
    values = {"flour_g": sum(grams for grams, _ in flours), "moisture_pct": found}
    text = f"{values['flour_g']:g} g of flour at {found:.2f} % moisture."
    if hydration is not None:
        values["hydration_pct"] = moi.corrected_hydration_pct(hydration, basis, found)
        text += f" {hydration:g} % at {basis:g} % moisture is {values['hydration_pct']:.2f} % on it."
    return text, values


@_answers("yield")
@_flour
@_target
@click.option("--loss", type=float, default=3.0, show_default=True, help="Scrap and loss, %.")
@click.option("--portion", type=float, default=110.0, show_default=True, help="Raw portion, g.")
@click.option(
    "--portions", "wanted", type=int, help="Portions that are wanted: FLOUR_G is then that of one batch."
)
@click.pass_obj
def yield_(
    home: Home, flour: float, target: float | None, loss: float, portion: float, wanted: int | None
) -> Answer:
    """Dough, portions and cooked weight of so much flour; or flour and batches for so many portions.

    Example: crumbcall dough yield 1500 --portions 40 --loss 4
    """
    pct = _wanted(home, target)
    ratio = yields.cooked_ratio(yields.FRESH_WATER_PCT, yields.COOKED_WATER_PCT)
    if wanted is not None:
        needed = yields.flour_for_portions_g(wanted, portion, loss, pct)
        batches = yields.batches_for(needed, flour)
        text = f"{needed:.1f} g of flour for {wanted} portions of {portion:g} g: {batches} batches of {flour:g} g."
        return text, {"flour_g": needed, "batches": batches, "portions": wanted, "hydration_pct": pct}
    dough = yields.dough_g(flour, pct)
    net = yields.net_dough_g(dough, loss)
    count = yields.portions(net, portion)
    text = (
        f"{dough:.1f} g of dough, {net:.1f} g after {loss:g} % loss: {count} portions of {portion:g} g, "
        f"about {portion * ratio:.0f} g each cooked."
    )
    return text, {
        "dough_g": dough,
        "net_g": net,
        "portions": count,
        "cooked_portion_g": portion * ratio,
        "hydration_pct": pct,
    }


@_answers("oven")
@click.argument("before", type=float, metavar="BEFORE_G")
@click.argument("after", type=float, metavar="AFTER_G")
@click.option(
    "--dish", type=float, default=0.0, show_default=True, help="The empty dish, g, where both include it."
)
def oven(before: float, after: float, dish: float) -> Answer:
    """Flour's moisture from its mass before and after drying in the oven.

    Example: crumbcall dough oven 25.000 24.300 --dish 20
    """
    found = moi.oven_moisture_pct(before, after, dish)
    passed = moi.limits_passed(min(found, 99.0))
    text = f"{found:.2f} % moisture (wet basis), {moi.dry_basis_pct(min(found, 99.0)):.2f} per 100 of dry matter."
    if passed:
        text += f" Above the limit for semolina of {' and '.join(passed)}."
    text += f"\nMethod: {moi.OVEN_METHODS}."
    return text, {"moisture_pct": found, "above_limits_of": passed, "method": moi.OVEN_METHODS}


def _wanted(home: Home, target: float | None) -> float:
    """The hydration aimed at: as given, else the settings'."""
    if target is None:
        return Settings.load(home.settings_file).batch.target_pct
    return between("target", target, 15, 60, "%")


def _pantry(home: Home) -> Pantry:
    return Pantry.load(home.config / OWN_FILE)


def _part(text: str) -> tuple[str, float, float | None]:
    """An ingredient as NAME=GRAMS or NAME=GRAMS@WATER_PCT."""
    name, equals, rest = text.rpartition("=")
    if not equals or not name.strip():
        raise DoughError(f"{text!r} is no ingredient; write NAME=GRAMS, as 'whole egg=200'.")
    grams, at, water = rest.partition("@")
    return name.strip(), _number(text, grams), _number(text, water) if at else None


def _number(where: str, text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise DoughError(f"{where!r}: {text.strip() or 'nothing'} is no number; write one, as 200.") from None
