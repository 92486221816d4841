"""Allergens of a batch by the two published lists, from what each of its flours and additions has.

Nothing is guessed and nothing is forced in: a name that the table does not have is told as missing, and so is
a kind that one of the lists wants. A help for the label; the packets of the ingredients come first.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from assistant.config.allergens.known import KnownAllergens
from assistant.config.allergens.lists import ALLERGENS, allergen_of, by_list, kind_of, without_kind
from assistant.dough.lots import UNNAMED_FLOUR
from assistant.sheets.sheet import Sheet
from assistant.sheets.wording import SheetWords

REGIONS = ("eu", "us")


@dataclass(frozen=True, slots=True)
class KitchenAllergens:
    """What a kitchen knows of the allergens in its batches."""

    known: KnownAllergens = field(default_factory=KnownAllergens.load)
    plain_flour: str = "semolina"
    """Flour of a batch whose recipe and lot name none."""
    lot_flours: Mapping[str, str] = field(default_factory=dict)
    """Lot -> its flour."""
    recipes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Recipe -> the words that its file names today: they say the kinds that a batch's record lacks."""

    def of(self, sheet: Sheet) -> "Found":
        """Allergens of a batch. What nobody told of may be in all the same: it counts."""
        flour = self.lot_flours.get(sheet.lot or "", UNNAMED_FLOUR)
        of_lot = () if flour == UNNAMED_FLOUR else (flour,)
        flours = (*sheet.flours, *of_lot) or (self.plain_flour,)
        names = tuple(dict.fromkeys((*flours, *(one.name for one in (*sheet.additions, *sheet.to_come)))))
        by_name = {name: words for name in names if (words := self.known.of(name)) is not None}
        named = {allergen_of(word) for words in by_name.values() for word in words}
        kinds = [word for word in self.recipes.get(sheet.recipe or "", ()) if kind_of(word)]
        by_recipe: list[str] = []
        for allergen in sheet.allergens:
            of_file = [word for word in kinds if allergen_of(word) == allergen]
            by_recipe += of_file or ([] if allergen in named else [allergen])
        carried = {one: self._left_by(one) for one in sheet.carried_over}
        left = dict.fromkeys(word for words in carried.values() for word in words or ())
        return Found(
            by_name=by_name,
            by_recipe=tuple(by_recipe),
            unknown=(
                *(name for name in names if name not in by_name),
                *(name for name, words in carried.items() if words is None),
            ),
            carried=tuple(one for one in left if one not in {*named, *sheet.allergens}),
        )

    def _left_by(self, word: str) -> tuple[str, ...] | None:
        """Allergens of what a batch before left: of an allergen itself, of a name what is known of it."""
        if word in ALLERGENS:
            return (word,)
        words = self.known.of(word)
        return None if words is None else tuple(map(allergen_of, words))


@dataclass(frozen=True, slots=True)
class Found:
    """Allergens of a batch."""

    by_name: Mapping[str, tuple[str, ...]]
    """Name of a flour or an addition -> its words."""
    by_recipe: tuple[str, ...]
    """What the recipe names besides."""
    unknown: tuple[str, ...]
    """Names of which the allergens are not known, those that batches before left among them."""
    carried: tuple[str, ...] = ()
    """Allergens that batches before left in the machine, and that are not in this one."""

    def lacking(self, regions: Collection[str]) -> list[tuple[str, str]]:
        """Names with the allergen whose kind these lists want and nobody named."""
        return [(name, one) for name, words in self.by_name.items() for one in without_kind(words, regions)]

    def declared(self, region: str, words: SheetWords) -> tuple[str, ...]:
        """What a list, "eu" or "us", declares, in the words of a language."""
        found = []
        everything = (*self.by_recipe, *(word for one in self.by_name.values() for word in one))
        for allergen, kinds in by_list(everything, region).items():
            if allergen == "gluten":
                grains = ", ".join(words.text(f"allergens.grain.{one}") for one in kinds)
                found.append(words.text("allergens.gluten", grains=grains))
                continue
            name = words.text(f"allergens.{region}.{allergen}")
            said = ", ".join(words.kind(allergen, one) for one in kinds)
            found.append(words.text("allergens.kinds", allergen=name, kinds=said) if said else name)
        return tuple(found)
