"""Allergens of a batch by the two published lists, and the traps between them.

EU and UK: Regulation (EU) 1169/2011, Annex II, fourteen. US: FASTER Act 2021, nine. What a recipe's file
names is taken as it is; what its ingredients plainly are is added, by the words of `sheets.toml`. A help for
the label, not an allergen check.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.sheets.wording import EU, GLUTEN, PLAINLY, TRAPS, US, SheetWords


@dataclass(frozen=True, slots=True)
class Allergens:
    """What a label declares, in the words of its language."""

    eu: tuple[str, ...]
    """In the EU and UK."""
    us: tuple[str, ...]
    notes: tuple[str, ...]
    """What is easily missed."""


def allergens_of(named: Iterable[str], ingredients: Iterable[str], words: SheetWords) -> Allergens:
    """Allergens by both lists; `named`: by the recipe, as in `recipes.ALLERGENS`. Wheat is in every batch."""
    in_names = {word for name in ingredients for word in name.lower().split()}
    plain = {one for one in PLAINLY if in_names.intersection(words.text(f"allergens.plainly.{one}").split())}
    found = {"wheat", *named} | plain
    grains = ", ".join(words.text(f"allergens.grain.{one}") for one in GLUTEN if one in found)
    trapped = [
        one for one in TRAPS if in_names.intersection(words.text(f"allergens.trap.{one}.words").split())
    ]
    notes = [words.text(f"allergens.trap.{one}.text") for one in trapped]
    if "molluscs" in found and "ink" not in trapped:
        notes.append(words.text("allergens.molluscs_in_the_us"))
    return Allergens(
        eu=(
            words.text("allergens.gluten", grains=grains),
            *(words.text(f"allergens.eu.{one}") for one in EU if one in found),
        ),
        us=tuple(words.text(f"allergens.us.{one}") for one in US if one in found),
        notes=tuple(notes),
    )
