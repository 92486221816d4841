"""`crumbcall dough ingredients|recipe|scale|cutter`: what goes in, and what is cut of it."""

from collections.abc import Iterable
from typing import Any

import click

from assistant.cli.dough.answers import (
    Answer,
    answers,
    moisture_option,
    pantry_of,
    part_of,
    refuse_ignored,
    target_option,
    target_pct,
)
from assistant.cli.quantity import Quantity
from assistant.config.home import Home
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.dough import yields
from assistant.dough.cutter import speed_for
from assistant.dough.ingredients import dough_with
from assistant.dough.ranges import CUTTER_SPEED, FLOUR_G, LENGTH_MM
from assistant.dough.recipe import RecipePlan
from assistant.errors import DoughError


@answers("ingredients")
@click.argument("flour", type=Quantity(FLOUR_G), metavar="FLOUR_G", required=False)
@click.argument("parts", nargs=-1, metavar="NAME=GRAMS[@WATER_PCT]...")
@target_option
@moisture_option
@click.option("--list", "listed", is_flag=True, help="List the ingredients that are known.")
@click.pass_obj
def ingredients(
    home: Home,
    flour: float | None,
    parts: tuple[str, ...],
    target: float | None,
    moisture: float | None,
    listed: bool,
) -> Answer:
    """Water left to pour besides wet ingredients; @ gives an ingredient's water content as measured.

    Example: crumbcall dough ingredients 1000 "whole egg=200" "spinach boiled=80@84.5"
    """
    pantry = pantry_of(home)
    if listed:
        refuse_ignored(
            "beside --list; leave one of them out",
            **{
                "FLOUR_G": flour,
                "NAME=GRAMS": parts or None,
                "--target": target,
                "--moisture": moisture,
            },
        )
        rows = [{"name": row.name, "water_pct": row.water_pct, "source": row.source} for row in pantry]
        lines = [f"{row['water_pct']:6.2f} %  {row['name']} ({row['source']})" for row in rows]
        return "\n".join(lines), {"known": rows}
    if flour is None:
        raise FLOUR_G.refusal("is missing", advice="give it first, as in 1000 'whole egg=200'")
    additions = [pantry.addition(*part_of(part)) for part in parts]
    wanted = target_pct(home, target)
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


@answers("recipe")
@click.argument("name", required=False)
@click.argument("flour", type=Quantity(FLOUR_G), metavar="[FLOUR_G]", required=False)
@click.pass_obj
def recipe(home: Home, name: str | None, flour: float | None) -> Answer:
    """A recipe for a mass of flour; without a name, all recipes of the kitchen.

    Example: crumbcall dough recipe egg 1500
    """
    pantry = pantry_of(home)
    recipes = Recipes.load(pantry, home.config / OWN_FOLDER)
    if name is None:
        return _all_recipes(recipes.plans.values())
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
    lines.append(f"{dough.mass_g:.1f} g of dough. Allergens: {', '.join(plan.allergens) or 'none'}.")
    unknown = [
        name for name in (*flours, *(one.name for one in additions)) if pantry.allergens.of(name) is None
    ]
    if unknown:
        lines[-1] += f" Not known of: {', '.join(unknown)}; see crumbcall allergens."
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
        "allergens_not_known": unknown,
    }


def _all_recipes(plans: Iterable[RecipePlan]) -> Answer:
    rows: list[dict[str, Any]] = [
        {"recipe": plan.recipe, "target_pct": plan.target_pct, "allergens": list(plan.allergens)}
        for plan in plans
    ]
    lines = [
        f"{r['recipe']}: target {r['target_pct']:g} %, allergens {', '.join(r['allergens']) or 'none'}"
        for r in rows
    ]
    return "\n".join(lines), {"recipes": rows}


@answers("scale")
@click.argument("wanted", type=Quantity(FLOUR_G), metavar="FLOUR_G")
@click.argument("parts", nargs=-1, required=True, metavar="NAME=GRAMS...")
@click.option("--flour", default="flour", show_default=True, help="Name of the part that is scaled by.")
def scale(wanted: float, parts: tuple[str, ...], flour: str) -> Answer:
    """A batch for another mass of flour.

    Example: crumbcall dough scale 2250 flour=1500 water=465 egg=150
    """
    masses: dict[str, float] = {}
    for part in parts:
        name, grams, water_pct = part_of(part)
        if water_pct is not None or name in masses:
            raise DoughError(f"{part!r}: each part once, as NAME=GRAMS; write it so.")
        masses[name] = grams
    found = yields.scaled(masses, flour, wanted)
    return "\n".join(f"{grams:.1f} g {name}" for name, grams in found.items()), {"grams": found}


@answers("cutter")
@click.argument("speed", type=Quantity(CUTTER_SPEED), metavar="SPEED")
@click.argument("length", type=Quantity(LENGTH_MM), metavar="LENGTH_MM")
@click.argument("wanted", type=Quantity(LENGTH_MM), metavar="WANTED_MM")
def cutter(speed: float, length: float, wanted: float) -> Answer:
    """Speed of the cutter for pieces of a wanted length, from the length that one speed made.

    Example: crumbcall dough cutter 40 35 30
    """
    found = CUTTER_SPEED.check(speed_for(speed, length, wanted), "speed that this takes")
    text = f"Speed {found:.1f} for {wanted:g} mm; measure ten pieces in a row and take a tenth."
    return text, {"speed": found, "length_mm": wanted}
