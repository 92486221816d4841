"""The two lists of allergens, and the words by which files of the kitchen name them.

EU and UK: Regulation (EU) 1169/2011, Annex II, fourteen; cereals and nuts are named one by one there.
US: the nine of FALCPA (2004) and the FASTER Act (2021), 21 U.S.C. 321(qq); fish and crustaceans are named by
their species, tree nuts by their kind, 21 U.S.C. 343(w). Tree nuts: the twelve kinds of FDA's guidance of
January 2025 (read in universities' summaries); it left out chestnut, coconut and others.

A word is an allergen, with its kind after a colon where a list wants one: "egg", "fish:cod", "nuts:almond".
"""

from collections.abc import Collection, Iterable

from assistant.config.toml_words import hint, shown

GRAINS = ("wheat", "rye", "barley", "oats")
"""Cereals with gluten. Spelt, khorasan, emmer and durum are wheat by both lists."""
EU = (
    *("crustaceans", "egg", "fish", "peanuts", "soy", "milk", "nuts", "celery", "mustard", "sesame"),
    *("sulphites", "lupin", "molluscs"),
)
"""Annex II without its first, the cereals with gluten; sulphites above 10 mg/kg or mg/l."""
US = ("wheat", "milk", "egg", "fish", "crustaceans", "nuts", "peanuts", "soy", "sesame")
ALLERGENS = (*GRAINS, *EU)
"""All that a file may name; the nine of the US are among them."""

NUTS_EU = ("almond", "hazelnut", "walnut", "cashew", "pecan", "brazil nut", "pistachio", "macadamia")
NUTS_US = (*NUTS_EU, "black walnut", "california walnut", "heartnut", "pine nut")
KINDS = {"eu": ("nuts",), "us": ("nuts", "fish", "crustaceans")}
"""List -> the allergens of which it wants the kind, beside the cereals, which have a word each."""
_LONGEST_KIND = 30


def allergen_of(word: str) -> str:
    """The allergen without its kind."""
    return word.partition(":")[0]


def kind_of(word: str) -> str:
    """The kind; empty where none is named."""
    return word.partition(":")[2]


def tidy_word(word: str) -> str:
    """A word as it is compared: "Nuts: Almond" is "nuts:almond"."""
    return ":".join(" ".join(part.lower().split()) for part in word.partition(":")[::2] if part.strip())


def wrong_with(word: str) -> str | None:
    """What is wrong with a tidy word, and what to do; None: it can be used."""
    allergen, kind = allergen_of(word), kind_of(word)
    if allergen not in ALLERGENS:
        if word in NUTS_US:
            return f'{shown(word)}; write "nuts:{word}" instead.'
        return f"{shown(word)}; {hint(word, ALLERGENS)}"
    if not kind:
        return None
    if allergen not in KINDS["us"]:
        return f'{shown(word)}, and {allergen} has no kinds; write "{allergen}" instead.'
    if allergen == "nuts" and kind not in NUTS_US:
        return f"{shown(word)}, which is no nut of either list; {hint(kind, NUTS_US)}"
    if len(kind) > _LONGEST_KIND or not kind.replace(" ", "").replace("-", "").isalpha():
        return f'{shown(word)}, allowed is one kind in letters, as "fish:cod"; change it.'
    return None


def by_list(words: Iterable[str], region: str) -> dict[str, tuple[str, ...]]:
    """What a list, "eu" or "us", declares of these words: each of its allergens with its kinds, in its order.

    The EU's cereals with gluten stand under "gluten". What the list does not have is left out.
    """
    named = sorted(set(words))
    found: dict[str, tuple[str, ...]] = {}
    if region == "eu" and (grains := tuple(one for one in GRAINS if one in named)):
        found["gluten"] = grains
    for allergen in EU if region == "eu" else US:
        of_it = [word for word in named if allergen_of(word) == allergen and _is_on(word, region)]
        if of_it:
            found[allergen] = tuple(kind for word in of_it if (kind := kind_of(word)))
    return found


def _is_on(word: str, region: str) -> bool:
    kinds = NUTS_EU if region == "eu" else NUTS_US
    return allergen_of(word) != "nuts" or not kind_of(word) or kind_of(word) in kinds


def without_kind(words: Collection[str], regions: Iterable[str]) -> tuple[str, ...]:
    """Allergens among these words whose kind one of the lists wants, and that none names."""
    wanted = dict.fromkeys(one for region in regions for one in KINDS[region])
    named = {allergen_of(word) for word in words if kind_of(word)}
    return tuple(one for one in wanted if one in words and one not in named)
