"""`crumbcall dough egg`: grams from a count of eggs, and what the pasta may be called."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

import click

from assistant.cli.dough.answers import Answer, answers, moisture_option, pantry_of
from assistant.cli.quantity import Quantity
from assistant.config.home import Home
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.dough.eggs.egg_pasta import SEMOLINA_WATER_PCT, EggDough, whole_g_for_the_us
from assistant.dough.eggs.egg_sizes import EGGS, SIZES, contents_of
from assistant.dough.ingredients import water_in_g
from assistant.dough.ranges import FLOUR_G
from assistant.dough.recipe import RecipePlan
from assistant.errors import DoughError

_WHOLE = frozenset({"egg", "eggs", "whole egg", "whole eggs", "whole egg pasteurized", "uova", "uova intere"})
_YOLK = frozenset({"yolk", "yolks", "egg yolk", "egg yolks", "egg yolk pasteurized", "tuorlo", "tuorli"})
_WHITE = frozenset({"egg white", "egg whites", "egg white pasteurized", "albume", "albumi"})
_SEMOLINA = frozenset(
    {"semolina", "semolina rimacinata", "durum semolina", "durum wheat semolina"}
    | {"semola", "semola rimacinata", "semola di grano duro"}
)
_FLOUR = frozenset(
    {"durum flour", "farina", "wheat flour", "white flour", "plain flour", "bread flour", "strong flour"}
    | {"all-purpose flour", "00 flour", "0 flour", "farina 00", "farina 0", "farina di grano tenero"}
)
_A_KILO_G = 1000.0


@answers("egg")
@click.argument("count", type=Quantity(EGGS), metavar="COUNT", required=False)
@click.option(
    "--size",
    type=click.Choice(list(SIZES), case_sensitive=False),
    default="m",
    show_default=True,
    help="Class of the eggs: that of the EU, or us- and that of the US.",
)
@click.option(
    "--flour",
    type=Quantity(FLOUR_G),
    metavar="FLOUR_G",
    help="Semolina that they go into, g: says what the pasta may be called.",
)
@click.option(
    "--recipe", metavar="NAME", help="A recipe instead of a count: says what its pasta may be called."
)
@moisture_option
@click.pass_obj
def egg(
    home: Home, count: int | None, size: str, flour: float | None, recipe: str | None, moisture: float | None
) -> Answer:
    """Grams of whole egg, white and yolk in a count of eggs, and whether they make "egg pasta".

    Example: crumbcall dough egg 6 --size L --flour 1500
    """
    if (count is None) == (recipe is None):
        raise DoughError(
            "eggs: a count, as 6, or --recipe NAME is needed, and not both; give one of the two."
        )
    water_pct = SEMOLINA_WATER_PCT if moisture is None else moisture
    if recipe is not None:
        if flour is not None:
            raise DoughError(
                "--flour beside --recipe: the recipe has its own share of egg; leave one of them out."
            )
        recipes = Recipes.load(pantry_of(home), home.config / OWN_FOLDER)
        return _of_recipe(recipes.find(recipe), water_pct)
    assert count is not None
    found, of_class = contents_of(count, SIZES[size]), SIZES[size]
    water_g = water_in_g(found.whole_g, pantry_of(home).water_pct("whole egg"))
    lines = [
        f"{found.whole_g:.0f} g of whole egg, without shell: {found.white_g:.0f} g of white and "
        f"{found.yolk_g:.0f} g of yolk, in {count} eggs of size {of_class.name}.",
        f"From {found.least_g:.0f} to {found.most_g:.0f} g within the class: weigh them.",
        f"The whole egg brings {water_g:.0f} g of water: crumbcall dough ingredients counts it.",
    ]
    values: dict[str, Any] = {
        "whole_g": found.whole_g,
        "white_g": found.white_g,
        "yolk_g": found.yolk_g,
        "least_g": found.least_g,
        "most_g": found.most_g,
        "water_g": water_g,
    }
    if flour is None and moisture is not None:
        raise DoughError("--moisture is that of the semolina; give --flour too, or leave --moisture out.")
    if flour is not None:
        dough = EggDough(flour_g=flour, whole_g=found.whole_g, eggs=count, flour_water_pct=water_pct)
        ends = [replace(dough, whole_g=whole_g) for whole_g in (found.least_g, found.most_g)]
        lines += _names(dough, ["semolina"], ends)
        values |= _values(dough)
    return "\n".join(lines), values


def _of_recipe(plan: RecipePlan, water_pct: float) -> Answer:
    additions = plan.additions(_A_KILO_G)
    mass = {
        names: sum(one.grams for one in additions if one.name in names) for names in (_WHOLE, _YOLK, _WHITE)
    }
    others = [one for one in additions if one.name not in _WHOLE | _YOLK | _WHITE]
    dough = EggDough(
        flour_g=_A_KILO_G,
        whole_g=mass[_WHOLE],
        yolk_g=mass[_YOLK],
        white_g=mass[_WHITE],
        other_solids_g=sum(one.grams - one.water_g for one in others),
        flour_water_pct=water_pct,
    )
    lines = [
        f"{plan.recipe}, a kilo of flour: {dough.whole_g:g} g of whole egg, {dough.yolk_g:g} g of yolk, "
        f"{dough.white_g:g} g of white."
    ]
    lines += _names(dough, [name for name, share in plan.flours if share > 0], [dough])
    return "\n".join(lines), {"recipe": plan.recipe, **_values(dough)}


def _values(dough: EggDough) -> dict[str, Any]:
    return {
        "whole_g_per_kg": dough.whole_g_per_kg,
        "egg_solids_pct": dough.egg_solids_pct,
        "enough_for_italy": dough.enough_for_italy,
        "enough_for_the_us": dough.enough_for_the_us,
    }


def _names(dough: EggDough, flours: Collection[str], ends: Sequence[EggDough]) -> list[str]:
    """What the pasta may be called, and by which rule; `ends`: with the lightest and heaviest eggs."""
    of_semolina = bool(flours) and _SEMOLINA.issuperset(flours)
    of_wheat = bool(flours) and (_SEMOLINA | _FLOUR).issuperset(flours)
    italy = _verdict([one.enough_for_italy for one in ends]) if of_semolina else "no, not of semolina alone"
    us = (
        _verdict([one.enough_for_the_us for one in ends])
        if of_wheat
        else "no, not of white wheat flours alone"
    )
    counted = "" if dough.eggs_per_kg is None else f"{dough.eggs_per_kg:.3g} eggs, "
    need_g = whole_g_for_the_us(dough.flour_g, dough.flour_water_pct) * _A_KILO_G / dough.flour_g
    return [
        f'Italy, "pasta all\'uovo": {italy}. {counted}{dough.whole_g_per_kg:.0f} g of whole egg a kilo; '
        "wanted are four eggs, at least 200 g (DPR 187/2001, article 8; for fresh pasta see article 9 too).",
        f'US, "egg noodles": {us}. {dough.egg_solids_pct:.2f} % of the solids are egg; wanted are 5.5, some '
        f"{need_g:.0f} g of whole egg a kilo (21 CFR 139.150, of dried pasta).",
        "Information, no legal advice; other countries have rules of their own.",
    ]


def _verdict(enough: Collection[bool]) -> str:
    if all(enough):
        return "enough"
    return "by the eggs' weight: weigh them" if any(enough) else "too little"
