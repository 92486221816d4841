"""What a kitchen knows of allergens, and whether a label can say what is in a batch."""

from assistant.config.allergens.lists import without_kind
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.home import Home
from assistant.config.pantry import OWN_FILE as PANTRY_FILE
from assistant.config.pantry import Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.errors import RecipeError
from assistant.sheets.allergens import Found, KitchenAllergens

HOW_TO_TELL = 'crumbcall allergens "{name}" ALLERGENS'
_EXAMPLES = {"nuts": "almond", "fish": "cod", "crustaceans": "shrimp"}


def kitchen_allergens(home: Home, settings: Settings, *, recipes: bool = False) -> KitchenAllergens:
    """What this kitchen knows; `recipes`: with the kinds that its recipes' files name."""
    pantry = Pantry.load(home.config / PANTRY_FILE)
    return KitchenAllergens(
        known=pantry.allergens,
        plain_flour=settings.label.flour,
        lot_flours={lot: one.flour for lot, one in read_stock(home.config / LOTS_FILE).items()},
        recipes=Recipes.load(pantry, home.config / OWN_FOLDER).declared if recipes else {},
    )


def refuse_unknown(found: Found, regions: tuple[str, ...], recipe: str | None) -> None:
    """Raise RecipeError, one line, where a label can't say what is in it."""
    if found.unknown:
        names = ", ".join(f'"{name}"' for name in found.unknown)
        raise RecipeError(
            f"no label: the allergens of {names} are not known; read the packet, then "
            f'{HOW_TO_TELL.format(name=found.unknown[0])}, with "none" for none.'
        )
    if lacking := found.lacking(regions):
        name, allergen = lacking[0]
        raise RecipeError(
            f'no label: of "{name}" the kind of {allergen} is not known, which the list wants; say it with '
            f"{HOW_TO_TELL.format(name=name)}, as {allergen}:{_EXAMPLES[allergen]}."
        )
    if kindless := without_kind(found.by_recipe, regions):
        raise RecipeError(
            f'no label: the recipe "{recipe}" names {kindless[0]} without the kind, which the list wants; '
            f'write it in the recipe\'s file, as allergens = ["{kindless[0]}:{_EXAMPLES[kindless[0]]}"].'
        )
