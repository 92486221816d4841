"""The orders of a plan as they are typed: "rigatoni=40", "tagliatelle egg=20", "egg=20"."""

import re
from collections.abc import Collection, Mapping

from assistant.cli.quantity import read_figure
from assistant.config.allergens.known import tidy_name
from assistant.config.toml_words import did_you_mean
from assistant.dough.ranges import PORTIONS
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import NO_SHAPE, Order
from assistant.errors import SettingsError

_ORDER = re.compile(r"([^=]*\w[^=]*)=([^=]+)")


def read_order(text: str, recipes: Mapping[str, RecipePlan], shapes: Collection[str]) -> Order:
    """One order: a shape, a recipe or both in any order, and portions. A shape alone is of the plain dough.

    Raises SettingsError, one line, where a word is neither, or may be both.
    """
    found = _ORDER.fullmatch(text)
    if found is None:
        raise SettingsError(
            f"{text!r} is not an order; write a shape, a recipe if it has one, and portions, "
            'as "tagliatelle egg=20".'
        )
    what = tidy_name(found.group(1))
    shape, recipe = _meant(what, recipes, shapes)
    count = int(read_figure(PORTIONS, found.group(2), f"{what}: portions"))
    return Order(shape or NO_SHAPE, count, recipes[recipe] if recipe else None)


def _meant(what: str, recipes: Collection[str], shapes: Collection[str]) -> tuple[str, str]:
    """Shape and recipe that are named; an empty one is not."""
    words = what.split()
    halves = [(" ".join(words[:at]), " ".join(words[at:])) for at in range(len(words) + 1)]
    readings = {
        (shape, recipe)
        for first, second in halves
        for shape, recipe in ((first, second), (second, first))
        if (not shape or shape in shapes) and (not recipe or recipe in recipes)
    }
    if not readings:
        raise _unknown(what, halves, recipes, shapes)
    if len(readings) > 1:
        ways = " or ".join(
            f"{recipe} {shape}" if shape and recipe else f"the {'shape' if shape else 'recipe'} {what}"
            for shape, recipe in sorted(readings, reverse=True)
        )
        raise SettingsError(f'"{what}" may be {ways}; name both, the shape and the recipe.')
    return readings.pop()


def _unknown(
    what: str, halves: Collection[tuple[str, str]], recipes: Collection[str], shapes: Collection[str]
) -> SettingsError:
    """What to say of a word that is no shape and no recipe: beside one that is known, of that word alone."""
    known = (*sorted(shapes), *recipes)
    rest = what
    for first, second in halves:
        if first in known or second in known:
            rest = min(rest, second if first in known else first, key=len)
    if rest in known:
        return SettingsError(
            f'"{what}" is two {"recipes" if rest in recipes else "shapes"}; name one shape and one recipe.'
        )
    return SettingsError(
        f'"{rest}" is no shape and no recipe; {did_you_mean(rest, known)} '
        "A shape of your own goes into [cooking] own of the settings."
    )
