"""Recipes of the kitchen, one TOML file each, checked whole before any of them is used.

Those that ship are in `data/recipes`; the kitchen's own in `recipes` beside its settings, where a file of
the same name takes the place of one that ships. An error names file, key, value and range.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Self

from msgspec import Meta, Struct

from assistant.batch.record.hopper.leftovers import GLUTEN
from assistant.batch.record.rules import BatchRules
from assistant.config.allergens.known import checked_words
from assistant.config.allergens.known import tidy_name as tidy
from assistant.config.allergens.lists import allergen_of, tidy_word
from assistant.config.hydration_marks import Hydration, out_of_order
from assistant.config.pantry import Pantry
from assistant.config.toml_file import Place, read_struct
from assistant.config.toml_words import ALLOWED, EXAMPLE, UNIT, did_you_mean, shown, within
from assistant.dough.flour.gluten_free import Marks, marks_of
from assistant.dough.ingredients import additions_water_g
from assistant.dough.ranges import PORTION_G
from assistant.dough.recipe import RecipePlan, Share
from assistant.errors import DoughError, RecipeError

SHIPPED = Path(__file__).parent / "data" / "recipes"
OWN_FOLDER = "recipes"
_DEFAULTS = BatchRules()
_Seconds = Annotated[float, Meta(ge=5, le=7200, extra={UNIT: "s"})]
_Percent = Annotated[float, Meta(ge=0, le=100, extra={UNIT: "% of the flour"})]
_Share = Annotated[float, Meta(ge=0, le=200, extra={UNIT: "g per 100 g of flour"})]


class Recipe(Struct, frozen=True):
    """A recipe as written."""

    name: Annotated[str, Meta(min_length=1, max_length=40, extra={EXAMPLE: 'name = "plain"'})]
    """What the cook calls it."""
    flour: Annotated[
        dict[str, _Percent], Meta(extra={EXAMPLE: "a section [flour] with a line such as semolina = 100"})
    ]
    """Flours by name, each its share (%); together 100."""
    allergens: Annotated[list[str], Meta(extra={ALLOWED: 'a list, as ["wheat", "egg"]'})] = []
    """What a label names besides what flours and additions have: words of `allergens.lists`."""
    target_pct: Hydration | None = None
    """Hydration aimed at (%); None, and so low and high: as usual, of doughs without gluten their own."""
    low_pct: Hydration | None = None
    high_pct: Hydration | None = None
    gluten_free: bool | None = None
    """Whether its flours have no gluten; None: as their allergens say, and those of the unknown have."""
    wet: dict[str, _Share] = {}
    """Additions whose water counts, by the pantry's names: g per 100 g of flour."""
    dry: dict[str, _Share] = {}
    """Additions without water: g per 100 g of flour."""
    first_mix_s: _Seconds | None = None
    """Mix after the first pour (s); None: as the settings say."""
    target_mix_s: _Seconds | None = None
    """Mix once the target is reached (s); None: as the settings say."""
    rest_s: _Seconds | None = None
    """Rest of a crumb that is ready (s); None: as the settings say."""
    portion_g: Annotated[float, within(PORTION_G)] | None = None
    """Raw pasta of a portion (g); None: as the settings say."""
    shapes: Annotated[list[str], Meta(extra={ALLOWED: 'a list, as ["rigatoni"]'})] = []
    """Dies that it is made for."""

    @property
    def declared(self) -> tuple[str, ...]:
        """Its `allergens` in the words that count."""
        return tuple(map(tidy_word, self.allergens))

    def marks(self, pantry: Pantry) -> Marks:
        """Its hydration (%): as written, else as usual; a dough without gluten has marks of its own."""
        usual = Marks(_DEFAULTS.low_pct, _DEFAULTS.target_pct, _DEFAULTS.high_pct)
        if self.has_no_gluten(pantry):
            usual = marks_of(self.flour.items())
        written = (self.low_pct, self.target_pct, self.high_pct)
        marks = (usual.low_pct, usual.target_pct, usual.high_pct)
        low, target, high = (b if a is None else a for a, b in zip(written, marks, strict=True))
        return Marks(low, target, high)

    def has_no_gluten(self, pantry: Pantry) -> bool:
        """Whether none of what goes in has gluten: as written, else as far as allergens of all are known.

        Oats count as gluten (Regulation (EU) 1169/2011, Annex II), unless the recipe says that its own don't.
        """
        if self.gluten_free is not None:
            return self.gluten_free
        declared = {allergen_of(word) for word in self.declared}
        return not declared.intersection(GLUTEN) and all(map(pantry.allergens.has_no_gluten, self._names))

    @property
    def _names(self) -> tuple[str, ...]:
        """All that goes in, by name."""
        return (*(name for name, share in self.flour.items() if share > 0), *self.wet, *self.dry)

    def plan(self, pantry: Pantry) -> RecipePlan:
        """The recipe as the batch takes it. Raises DoughError where an addition's water is not known."""
        wet = [Share(tidy(name), per_100, pantry.water_pct(name)) for name, per_100 in self.wet.items()]
        dry = [Share(tidy(name), per_100, 0.0) for name, per_100 in self.dry.items()]
        names, marks = (*self.flour, *self.wet, *self.dry), self.marks(pantry)
        words = (*self.declared, *(word for name in names for word in pantry.allergens.of(name) or ()))
        return RecipePlan(
            recipe=tidy(self.name),
            target_pct=marks.target_pct,
            low_pct=marks.low_pct,
            high_pct=marks.high_pct,
            shares=(*wet, *dry),
            first_mix_s=self.first_mix_s,
            target_mix_s=self.target_mix_s,
            rest_s=self.rest_s,
            portion_g=self.portion_g,
            allergens=tuple(dict.fromkeys(map(allergen_of, words))),
            unmapped=tuple(tidy(name) for name in names if pantry.allergens.of(name) is None),
            flours=tuple((tidy(name), share) for name, share in self.flour.items()),
            gluten_free=self.has_no_gluten(pantry),
        )


class Recipes:
    """All recipes of a kitchen by name, with their plans."""

    def __init__(
        self,
        plans: dict[str, RecipePlan],
        own_shapes: tuple[str, ...] = (),
        declared: Mapping[str, tuple[str, ...]] | None = None,
        shapes: frozenset[str] = frozenset(),
    ) -> None:
        self.plans = plans
        self.declared = dict(declared or {})
        """The allergens that each recipe's file names, with their kinds."""
        self.own_shapes = own_shapes
        """Shapes that the kitchen's own recipes are made for."""
        self.shapes = shapes
        """Shapes that any recipe is made for."""

    @classmethod
    def load(cls, pantry: Pantry, own: Path | None = None) -> Self:
        """Those that ship, then the kitchen's own. Raises RecipeError at the first that can't be used."""
        files = {file.name: file for file in sorted(SHIPPED.glob("*.toml"))}
        if own is not None and own.is_dir():
            files |= {file.name: file for file in sorted(own.glob("*.toml"))}
        plans: dict[str, RecipePlan] = {}
        named: dict[str, Path] = {}
        declared: dict[str, tuple[str, ...]] = {}
        shapes: list[str] = []
        all_shapes: set[str] = set()
        for file in files.values():
            recipe = read_recipe(file)
            plan = _plan(file, recipe, pantry)
            all_shapes.update(tidy(shape) for shape in recipe.shapes)
            if file.parent == own:
                shapes += (tidy(shape) for shape in recipe.shapes)
            if plan.recipe in named:
                raise RecipeError(
                    f"{file}: name = {shown(plan.recipe)} is taken by {named[plan.recipe]}; give it "
                    "another name, or the file the other's name to take its place."
                )
            named[plan.recipe] = file
            plans[plan.recipe] = plan
            declared[plan.recipe] = recipe.declared
        return cls(plans, tuple(dict.fromkeys(shapes)), declared, frozenset(all_shapes))

    def find(self, name: str) -> RecipePlan:
        """A plan by the recipe's name. Raises RecipeError where there is none of it."""
        found = self.plans.get(tidy(name))
        if found is None:
            raise RecipeError(f"there is no recipe {shown(name)}; {did_you_mean(tidy(name), self.plans)}")
        return found


def read_recipe(file: Path) -> Recipe:
    """One recipe. Raises RecipeError that names file, key, value and range."""
    recipe = read_struct(file, Recipe, RecipeError)
    _check(Place(file, RecipeError), recipe)
    return recipe


def _check(place: Place, recipe: Recipe) -> None:
    """What single values can't show."""
    whole = sum(recipe.flour.values())
    if abs(whole - 100.0) > 0.01:
        raise place.refuse(f"the shares of [flour] make {whole:g}, allowed is 100; change one of them.")
    checked_words(recipe.allergens, lambda wrong: place.inside("allergens").refuse(f"has {wrong}"))


def _plan(file: Path, recipe: Recipe, pantry: Pantry) -> RecipePlan:
    """The plan of a recipe whose additions' water is known and leaves some to pour."""
    try:
        plan = recipe.plan(pantry)
    except DoughError as error:
        raise RecipeError(f"{file}: [wet] {error}") from error
    wrong = out_of_order(low_pct=plan.low_pct, target_pct=plan.target_pct, high_pct=plan.high_pct)
    if wrong is not None:
        raise Place(file, RecipeError).refuse(wrong)
    cereals = [one for one in plan.allergens if one in GLUTEN and one != "oats"]
    if plan.gluten_free and cereals:
        raise Place(file, RecipeError, keys=("gluten_free",)).refuse(
            f"= true, and the recipe has {' and '.join(cereals)}; remove the line, or use another flour."
        )
    brought = additions_water_g(plan.additions(100.0))
    if brought > plan.target_pct:
        raise RecipeError(
            f"{file}: [wet] brings {brought:.1f} g of water per 100 g of flour, and target_pct = "
            f"{plan.target_pct:g} leaves none to pour; use less of it, or aim higher."
        )
    return plan
