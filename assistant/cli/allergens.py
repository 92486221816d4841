"""`crumbcall allergens`: what each ingredient and flour has of the allergens, and how a kitchen says it."""

import click

from assistant.app.paper.kitchen_allergens import HOW_TO_TELL
from assistant.config.allergens.known import OWN_FILE, KnownAllergens, check_name, checked_words, left_out
from assistant.config.allergens.lists import by_list
from assistant.config.allergens.own_file import keep_allergens
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.home import Home
from assistant.config.pantry import OWN_FILE as PANTRY_FILE
from assistant.config.pantry import Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.dough.lots import UNNAMED_FLOUR
from assistant.errors import RecipeError

_NONE = "none"


@click.command("allergens")
@click.argument("name", required=False)
@click.argument("words", nargs=-1, metavar="[ALLERGEN]...")
@click.option("--forget", is_flag=True, help="Take out what the kitchen said of NAME.")
@click.pass_obj
def allergens_command(home: Home, name: str | None, words: tuple[str, ...], forget: bool) -> None:
    """Say what allergens an ingredient or a flour has, for labels and sheets; or list what is not known.

    A kind stands after a colon: fish:cod, crustaceans:shrimp, nuts:almond. "none" is for none.

    Example: crumbcall allergens "nettle pesto" milk "nuts:pine nut"
    """
    file = home.config / OWN_FILE
    if name is None:
        click.echo(_listed(home))
        return
    name = check_name(name)
    if forget and words:
        raise RecipeError("--forget takes the name alone; leave the allergens or --forget out.")
    if forget and name not in KnownAllergens.load(file).own:
        raise RecipeError(
            f'"{name}" is not in {file}, so there is nothing to forget; see crumbcall allergens.'
        )
    if forget:
        keep_allergens(file, name, None)
    elif words:
        KnownAllergens.load(file)  # a file that can't be used is not written to
        checked = _checked(words)
        if (lacking := left_out(name, checked)) is not None:
            raise RecipeError(lacking)
        keep_allergens(file, name, checked)
    click.echo(_shown(KnownAllergens.load(file), name))


def _checked(words: tuple[str, ...]) -> tuple[str, ...]:
    if _NONE not in words:
        return checked_words(words, lambda wrong: RecipeError(f"the allergens have {wrong}"))
    if len(words) > 1:
        raise RecipeError(f'"none" stands alone, and here with {", ".join(words)}; give one or the other.')
    return ()


def _shown(known: KnownAllergens, name: str) -> str:
    """What is known of a name."""
    words = known.of(name)
    if words is None:
        often = f" Often in it: {known.packet[name]}." if name in known.packet else ""
        return f"{name}: not known.{often} Read the packet, then {HOW_TO_TELL.format(name=name)}."
    lists = "; ".join(
        f"{head}: {_by_list(words, region)}" for region, head in (("eu", "EU, UK"), ("us", "US"))
    )
    lines = [f"{name}: {lists}."]
    if name in known.notes:
        lines.append(known.notes[name])
    return "\n".join(lines)


def _by_list(words: tuple[str, ...], region: str) -> str:
    found = by_list(words, region)
    return ", ".join(f"{one} ({', '.join(kinds)})" if kinds else one for one, kinds in found.items()) or _NONE


def _listed(home: Home) -> str:
    """What no label can be printed with, then what the kitchen said itself."""
    pantry = Pantry.load(home.config / PANTRY_FILE)
    known = pantry.allergens
    plans = Recipes.load(pantry, home.config / OWN_FOLDER).plans
    stock = read_stock(home.config / LOTS_FILE)
    used = [name for plan in plans.values() for name in (*dict(plan.flours), *(s.name for s in plan.shares))]
    used += [one.flour for one in stock.values() if one.flour != UNNAMED_FLOUR]
    used += [row.name for row in pantry if row.name not in known.packet]
    used.append(Settings.load(home.settings_file).label.flour)
    missing = sorted({name for name in used if known.of(name) is None})
    lines = [_shown(known, name) for name in missing] or [
        "Of all that the kitchen uses the allergens are known."
    ]
    return "\n".join([*lines, *(_shown(known, name) for name in sorted(known.own))])
