"""Allergens of a batch by the two published lists, and the traps between them.

EU and UK: Regulation (EU) 1169/2011, Annex II, fourteen. US: FASTER Act 2021, nine. What a recipe's file names is
taken as it is; what its ingredients plainly are is added. A help for the label, no allergen check.
"""

from collections.abc import Iterable
from dataclasses import dataclass

_GLUTEN = ("wheat", "rye", "barley", "oats")
_EU = {
    "crustaceans": "crustaceans",
    "egg": "eggs",
    "fish": "fish",
    "peanuts": "peanuts",
    "soy": "soybeans",
    "milk": "milk",
    "nuts": "nuts",
    "celery": "celery",
    "mustard": "mustard",
    "sesame": "sesame",
    "sulphites": "sulphites",
    "lupin": "lupin",
    "molluscs": "molluscs",
}
_US = {
    "wheat": "wheat",
    "milk": "milk",
    "egg": "egg",
    "fish": "fish",
    "crustaceans": "crustacean shellfish",
    "nuts": "tree nuts",
    "peanuts": "peanuts",
    "soy": "soybeans",
    "sesame": "sesame",
}
_ARE = {"egg": "egg", "yolk": "egg", "milk": "milk", "ink": "molluscs", "roe": "fish", "caviar": "fish"}
"""A word in an ingredient's name, and what it is."""
_TRAPS = {
    "ink": "Squid and cuttlefish ink is of molluscs: declared in the EU and UK, not one of the nine of the US.",
    "roe": "Roe counts as fish on both lists.",
    "urchin": "Sea urchin stands on neither list by name: tell it all the same.",
    "kimchi": "Kimchi commonly holds fish or shrimp: read its label.",
}


@dataclass(frozen=True, slots=True)
class Allergens:
    """What to declare in the EU and UK, in the US, and what is easily missed."""

    eu: tuple[str, ...]
    us: tuple[str, ...]
    notes: tuple[str, ...]


def allergens_of(named: Iterable[str], ingredients: Iterable[str] = ()) -> Allergens:
    """Allergens by both lists; `named`: by the recipe, as in `recipes.ALLERGENS`. Wheat is in every batch."""
    words = {word for name in ingredients for word in name.lower().split()}
    found = {"wheat", *named} | {are for word, are in _ARE.items() if word in words}
    gluten = [grain for grain in _GLUTEN if grain in found]
    eu = (f"gluten ({', '.join(gluten)})", *(label for one, label in _EU.items() if one in found))
    us = tuple(label for one, label in _US.items() if one in found)
    traps = [text for word, text in _TRAPS.items() if word in words]
    if "molluscs" in found and _TRAPS["ink"] not in traps:
        traps.append("Molluscs are declared in the EU and UK; they are not one of the nine of the US.")
    return Allergens(eu, us, tuple(traps))
