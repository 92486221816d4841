"""What each ingredient and flour has of the allergens: the table that ships, and the kitchen's own.

Ships: `data/allergens.toml`. The kitchen's: `allergens.toml` beside its settings, a line a name:

    "nettle pesto" = ["milk", "nuts:pine nut"]
    "rice noodles" = []

A name counts as it is written, whole: nothing is guessed from a part of it. Of a name that ships the kitchen
may say more, and a kind; it can't say that egg is none. Only sulphites, which count by amount, may go.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path
from typing import Any, Self

from assistant.batch.record.hopper.leftovers import GLUTEN
from assistant.config.allergens.lists import allergen_of, tidy_word, wrong_with
from assistant.config.toml_file import Place, read_toml
from assistant.config.toml_words import shown
from assistant.errors import CrumbcallError, SettingsError

SHIPPED = Path(__file__).parent.parent / "data" / "allergens.toml"
OWN_FILE = "allergens.toml"
_BY_AMOUNT = frozenset({"sulphites"})
_ALLOWED = 'allowed is a list of allergens, as ["milk", "nuts:almond"], or [] for none; change it.'


@dataclass(frozen=True, slots=True)
class KnownAllergens:
    """Names of ingredients and flours, each with the words of its allergens."""

    words: Mapping[str, tuple[str, ...]]
    packet: Mapping[str, str] = field(default_factory=dict)
    """Names of what is made so differently that its packet must be read -> what is often in it."""
    notes: Mapping[str, str] = field(default_factory=dict)
    """Name -> what is easily missed about it."""
    own: frozenset[str] = frozenset()
    """Names that the kitchen wrote itself."""

    @classmethod
    def load(cls, *own: Path) -> Self:
        """The table that ships, then those of the files that exist. Raises SettingsError (one line)."""
        shipped = _shipped()
        written: dict[str, tuple[str, ...]] = {}
        for file in own:
            rows = _rows(Place(file), read_toml(file, optional=True))
            for name, words in rows.items():
                if (lacking := left_out(name, words)) is not None:
                    raise Place(file).refuse(lacking)
            written |= rows
        packet = {name: text for name, text in shipped.packet.items() if name not in written}
        return cls({**shipped.words, **written}, packet, shipped.notes, frozenset(written))

    def of(self, name: str) -> tuple[str, ...] | None:
        """Words of an ingredient or a flour; None where they are not known."""
        return self.words.get(tidy_name(name))

    def has_no_gluten(self, name: str) -> bool:
        """Whether an ingredient or a flour is known to have none of the cereals with gluten."""
        words = self.of(name)
        return words is not None and not {allergen_of(word) for word in words}.intersection(GLUTEN)


def left_out(name: str, words: Iterable[str]) -> str | None:
    """What the kitchen's words of a name lack that it has by its nature, and what to do; None: nothing."""
    by_nature = {allergen_of(word) for word in _shipped().of(name) or ()} - _BY_AMOUNT
    lacking = sorted(by_nature - {allergen_of(word) for word in words})
    if not lacking:
        return None
    return (
        f'"{name}" is {" and ".join(lacking)} by its name, and its allergens lack that; add it, or give what '
        "goes in another name."
    )


def tidy_name(name: str) -> str:
    """A name as it is compared: lower case, underlines and runs of spaces one space."""
    return " ".join(name.replace("_", " ").lower().split())


def checked_words(words: Iterable[Any], refuse: Callable[[str], CrumbcallError]) -> tuple[str, ...]:
    """Words as they are kept. Raises what `refuse` makes of what is wrong with one of them."""
    tidied: list[str] = []
    for word in words:
        if not isinstance(word, str):
            raise refuse(f"{shown(word)}, {_ALLOWED}")
        tidied.append(tidy_word(word))
        if (wrong := wrong_with(tidied[-1])) is not None:
            raise refuse(wrong)
    return tuple(dict.fromkeys(tidied))


@cache
def _shipped() -> KnownAllergens:
    found = read_toml(SHIPPED)
    words: dict[str, tuple[str, ...]] = {}
    for section in ("flours", "ingredients"):
        words |= _rows(Place(SHIPPED, keys=(section,)), found[section])
    return KnownAllergens(words, found["packet"], found["notes"])


def _rows(place: Place, table: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
    rows: dict[str, tuple[str, ...]] = {}
    for name, words in table.items():
        here = place.inside(name)
        if not isinstance(words, list):
            raise here.refuse(f"= {shown(words)}, {_ALLOWED}")
        if (tidied := tidy_name(name)) in rows:
            raise here.refuse("is there twice; remove one of the two.")
        rows[tidied] = checked_words(words, partial(_refusal, here))
    return rows


def _refusal(place: Place, wrong: str) -> CrumbcallError:
    return place.refuse(f"has {wrong}")


def check_name(name: str) -> str:
    """A name to keep. Raises SettingsError for one that can't be written in a line."""
    tidied = tidy_name(name)
    if not tidied or not tidied.isprintable() or len(tidied) > 40:
        raise SettingsError(f"{shown(name)} is not a name; write 1 to 40 signs, as the recipe does.")
    return tidied
