"""Recipes of the kitchen, one TOML file each, checked whole before any of them is used.

Those that ship lie in `data/recipes`; the kitchen's own in `recipes` beside its settings, where a file of the same
name takes the place of one that ships. An error names file, key, value and range.
"""

import difflib
import math
import tomllib
from pathlib import Path
from typing import Annotated, Any, Self

import msgspec
from msgspec import Meta, Struct

from assistant.batch.record.rules import BatchRules
from assistant.config.pantry import Pantry, tidy
from assistant.dough.ingredients import additions_water_g
from assistant.dough.recipe import RecipePlan, Share
from assistant.errors import DoughError, RecipeError

SHIPPED = Path(__file__).parent / "data" / "recipes"
OWN_FOLDER = "recipes"
ALLERGENS = (
    *(
        "wheat",
        "rye",
        "barley",
        "oats",
        "crustaceans",
        "egg",
        "fish",
        "peanuts",
        "soy",
        "milk",
        "nuts",
        "celery",
    ),
    *("mustard", "sesame", "sulphites", "lupin", "molluscs"),
)
"""Regulation (EU) 1169/2011 Annex II, with the gluten cereals by name; the nine of the US are among them."""

_HOUSE = BatchRules()
_Hydration = Annotated[float, Meta(ge=15, le=60, description="% of the flour")]
_Seconds = Annotated[float, Meta(ge=5, le=7200, description="s")]
_Share = Annotated[float, Meta(ge=0, le=200, description="g per 100 g of flour")]


class Recipe(Struct, frozen=True, forbid_unknown_fields=True):
    """A recipe as written. Flours are shares of the flour (sum 100), additions g per 100 g of flour."""

    name: Annotated[str, Meta(min_length=1, max_length=40)]
    flour: dict[str, Annotated[float, Meta(ge=0, le=100, description="% of the flour")]]
    allergens: list[str]
    target_pct: _Hydration = _HOUSE.target_pct
    low_pct: _Hydration = _HOUSE.low_pct
    high_pct: _Hydration = _HOUSE.high_pct
    wet: dict[str, _Share] = {}
    dry: dict[str, _Share] = {}
    first_mix_s: _Seconds | None = None
    target_mix_s: _Seconds | None = None
    rest_s: _Seconds | None = None
    portion_g: Annotated[float, Meta(ge=10, le=1000, description="g")] | None = None
    shapes: list[str] = []

    def plan(self, pantry: Pantry) -> RecipePlan:
        """The recipe as the batch takes it. Raises DoughError where an addition's water is not known."""
        wet = [Share(tidy(name), per_100, pantry.water_pct(name)) for name, per_100 in self.wet.items()]
        dry = [Share(tidy(name), per_100, 0.0) for name, per_100 in self.dry.items()]
        return RecipePlan(
            recipe=tidy(self.name),
            target_pct=self.target_pct,
            low_pct=self.low_pct,
            high_pct=self.high_pct,
            shares=(*wet, *dry),
            first_mix_s=self.first_mix_s,
            target_mix_s=self.target_mix_s,
            rest_s=self.rest_s,
            portion_g=self.portion_g,
            allergens=tuple(self.allergens),
            flours=tuple((tidy(name), share) for name, share in self.flour.items()),
        )


class Recipes:
    """All recipes of a kitchen by name, with their plans."""

    def __init__(self, plans: dict[str, RecipePlan], recipes: dict[str, Recipe]) -> None:
        self.plans = plans
        self.recipes = recipes

    @classmethod
    def load(cls, pantry: Pantry, own: Path | None = None) -> Self:
        """Those that ship, then the kitchen's own. Raises RecipeError at the first that can't be used."""
        files = {file.name: file for file in sorted(SHIPPED.glob("*.toml"))}
        if own is not None and own.is_dir():
            files |= {file.name: file for file in sorted(own.glob("*.toml"))}
        plans: dict[str, RecipePlan] = {}
        recipes: dict[str, Recipe] = {}
        named: dict[str, Path] = {}
        for file in files.values():
            recipe = read_recipe(file)
            plan = _plan(file, recipe, pantry)
            if plan.recipe in named:
                raise RecipeError(
                    f"{file}: name = {recipe.name!r} is taken by {named[plan.recipe]}; give it another name, or the "
                    "file the other's name to take its place."
                )
            named[plan.recipe] = file
            plans[plan.recipe], recipes[plan.recipe] = plan, recipe
        return cls(plans, recipes)

    def find(self, name: str) -> RecipePlan:
        """A plan by the recipe's name. Raises RecipeError where there is none of it."""
        found = self.plans.get(tidy(name))
        if found is None:
            near = difflib.get_close_matches(tidy(name), list(self.plans), n=1)
            hint = f"is {near[0]} meant?" if near else f"there are {', '.join(self.plans)}."
            raise RecipeError(f"there is no recipe {name!r}; {hint}")
        return found


def read_recipe(file: Path) -> Recipe:
    """One recipe. Raises RecipeError that names file, key, value and range."""
    try:
        found = tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise RecipeError(
            f"{file} can't be read ({error.strerror}); make it readable or move it away."
        ) from error
    except UnicodeDecodeError as error:
        raise RecipeError(f"{file} is not UTF-8 text (byte {error.start}); save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:
        why = str(error).rstrip(".") or "nested too deeply"
        raise RecipeError(f"{file} is not TOML: {why}; mend it, or move it away.") from error
    _keys(file, found)
    values: dict[str, Any] = {}
    for field in msgspec.structs.fields(Recipe):
        if field.name in found:
            values[field.name] = _value(file, field.name, found[field.name], field.type)
    recipe = Recipe(**values)
    _fits_together(file, recipe)
    return recipe


def _keys(file: Path, found: dict[str, Any]) -> None:
    """Every key is known, and none that is needed is missing."""
    known = [field.name for field in msgspec.structs.fields(Recipe)]
    for key in found:
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f"is {near[0]} meant?" if near else f"keys are {', '.join(known)}."
            raise RecipeError(f"{file}: there is no key {key!r}; {hint}")
    for field in msgspec.structs.fields(Recipe):
        if field.required and field.name not in found:
            raise RecipeError(f"{file}: {field.name} is missing; write {_NEEDED[field.name]}.")


_NEEDED = {
    "name": 'name = "plain"',
    "flour": "a section [flour] with a line such as semolina = 100",
    "allergens": 'allergens = ["wheat"]',
}


def _value(file: Path, key: str, value: Any, kind: Any) -> Any:
    """One value in its type and range; a table's values one by one, so that the error names the key inside it."""
    if isinstance(value, dict) and key in _TABLES:
        for inside, one in value.items():
            _value(file, f"{key}.{inside}", one, _TABLES[key])
    try:
        taken = msgspec.convert(value, kind, strict=True)
    except (msgspec.ValidationError, OverflowError):
        taken = None
    if taken is None or (isinstance(taken, float) and not math.isfinite(taken)):
        raise RecipeError(f"{file}: {key} = {value!r}, allowed is {_allowed(key, kind)}; change it.")
    return taken


_TABLES: dict[str, Any] = {
    "flour": Annotated[float, Meta(ge=0, le=100, description="% of the flour")],
    "wet": _Share,
    "dry": _Share,
}


def _allowed(key: str, kind: Any) -> str:
    """What a key may hold, in words."""
    for inner in (kind, *getattr(kind, "__args__", ())):
        for meta in getattr(inner, "__metadata__", ()):
            if meta.ge is not None:
                return f"a number from {meta.ge:g} to {meta.le:g} {meta.description}"
    if key in _TABLES:
        return f"a section [{key}] of names and numbers"
    return {"name": "a text of 1 to 40 letters"}.get(key, "a list of texts")


def _fits_together(file: Path, recipe: Recipe) -> None:
    """What single values can't tell."""
    if not recipe.low_pct <= recipe.target_pct <= recipe.high_pct:
        raise RecipeError(
            f"{file}: low_pct = {recipe.low_pct:g}, target_pct = {recipe.target_pct:g}, high_pct = {recipe.high_pct:g}: "
            "low must not be above target, nor target above high; change one of them."
        )
    whole = sum(recipe.flour.values())
    if abs(whole - 100.0) > 0.01:
        raise RecipeError(
            f"{file}: the shares of [flour] make {whole:g}, allowed is 100; change one of them."
        )
    for allergen in recipe.allergens:
        if allergen not in ALLERGENS:
            near = difflib.get_close_matches(allergen, ALLERGENS, n=1)
            hint = f"is {near[0]} meant?" if near else f"allowed are {', '.join(ALLERGENS)}."
            raise RecipeError(f"{file}: allergens has {allergen!r}; {hint}")


def _plan(file: Path, recipe: Recipe, pantry: Pantry) -> RecipePlan:
    """The plan of a recipe whose additions' water is known and leaves some to pour."""
    try:
        plan = recipe.plan(pantry)
    except DoughError as error:
        raise RecipeError(f"{file}: [wet] {error}") from error
    brought = additions_water_g(plan.additions(100.0))
    if brought > recipe.target_pct:
        raise RecipeError(
            f"{file}: [wet] brings {brought:.1f} g of water per 100 g of flour, and target_pct = {recipe.target_pct:g} "
            "leaves none to pour; use less of it, or aim higher."
        )
    return plan
