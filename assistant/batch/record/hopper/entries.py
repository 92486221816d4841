"""The account entry by entry, and what all of it leaves in the hopper. Pure.

Dough that is taken out is mixed dough: it takes flour, water and additions with it in the shares in which
they are in, so the hydration stays what it was (mass balance). Flour or water that is taken out before it is
mixed goes alone.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from assistant.batch.record.commands import TakenOutOf
from assistant.batch.record.events import Source
from assistant.dough.ingredients import Addition, additions_water_g

EntryKind = Literal["water", "flour", "scrap", "addition", "dough_out", "flour_out", "water_out"]
OUT: dict[TakenOutOf, EntryKind] = {"dough": "dough_out", "flour": "flour_out", "water": "water_out"}
"""What is taken out of the hopper -> kind of its entry."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the account."""

    number: int
    kind: EntryKind
    grams: float
    source: Source
    at: float
    """Station time (s)."""
    weighed: bool = False
    """Whether both jug and voice have reported it."""
    name: str | None = None
    """The ingredient of an addition."""
    water_pct: float = 0.0
    """Water content of an addition (% of its own mass)."""

    @property
    def is_wet(self) -> bool:
        """Whether it wets the dough: water, or an ingredient that has some."""
        return self.kind == "water" or (self.kind == "addition" and self.water_pct > 0)


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in the hopper (g); what went through the die is not taken off."""

    flour_g: float = 0.0
    poured_g: float = 0.0
    """Water that was poured."""
    carried_g: float = 0.0
    """Water that additions brought."""
    dry_g: float = 0.0
    """What additions brought beside their water."""
    kept: float = 1.0
    """Share of the dough that was not taken out (0 to 1)."""
    out_g: float = 0.0
    """All that was taken out."""
    flour_out_g: float = 0.0
    """Flour in that."""

    @property
    def water_g(self) -> float:
        """All water."""
        return self.poured_g + self.carried_g

    @property
    def product_g(self) -> float:
        """All of it."""
        return self.flour_g + self.water_g + self.dry_g

    def most_out_g(self, kind: EntryKind, least_flour_g: float) -> float:
        """Most that can be taken out as an entry of this kind (g), `least_flour_g` staying in; 0: nothing."""
        spare = max(0.0, self.flour_g - least_flour_g)
        if kind == "water_out":
            return self.poured_g
        return spare if kind == "flour_out" else self.product_g * spare / self.flour_g


def contents_of(entries: Iterable[Entry], at_opening: Iterable[Addition] = ()) -> Contents:
    """What an account leaves in the hopper; `at_opening`: additions that went in with the first flour."""
    first = tuple(at_opening)
    carried = additions_water_g(first)
    held = Contents(carried_g=carried, dry_g=sum((one.grams for one in first), 0.0) - carried)
    for entry in entries:
        held = _after(held, entry)
    return held


def _after(held: Contents, entry: Entry) -> Contents:
    """The contents after one more entry."""
    flour, poured, carried, dry, kept = held.flour_g, held.poured_g, held.carried_g, held.dry_g, held.kept
    match entry.kind:
        case "flour":
            flour += entry.grams
        case "water":
            poured += entry.grams
        case "addition":
            water = entry.grams * entry.water_pct / 100.0
            carried, dry = carried + water, dry + entry.grams - water
        case "flour_out":
            flour -= entry.grams
        case "water_out":
            poured = max(0.0, poured - entry.grams)
        case "dough_out":
            share = 1.0 - entry.grams / held.product_g
            flour, poured, carried = flour * share, poured * share, carried * share
            dry, kept = dry * share, kept * share
        case "scrap":
            return held
    out = entry.grams if entry.kind in OUT.values() else 0.0
    return Contents(
        flour_g=flour,
        poured_g=poured,
        carried_g=carried,
        dry_g=dry,
        kept=kept,
        out_g=held.out_g + out,
        flour_out_g=held.flour_out_g + (held.flour_g - flour if out else 0.0),
    )
