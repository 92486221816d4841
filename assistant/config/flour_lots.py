"""The kitchen's flour lots as it wrote them down: `lots.toml` beside its settings, a section a lot.

What is not written is not known; a lot that is not there can be used all the same. Traceability one step
back is law in the EU (Regulation (EC) 178/2002 article 18): this file is no replacement for the kitchen's
own record of it.
"""

from datetime import date
from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.config.language.own_words import plain
from assistant.config.toml_file import Place, read_sections
from assistant.config.toml_words import within
from assistant.dough.flour.granulation import SIZES_UM, Grain
from assistant.dough.lots import UNNAMED_FLOUR
from assistant.dough.ranges import GRANULATION_UM, LOT_DELIVERED_KG, LOT_MOISTURE_PCT

FILE = "lots.toml"


class StockedLot(Struct, frozen=True):
    """A lot on the shelf."""

    flour: Annotated[str, Meta(min_length=1, max_length=40)] = UNNAMED_FLOUR
    """Name of the flour."""
    supplier: str = ""
    """The kitchen's name or number of who delivered it; empty: not known."""
    received: date | None = None
    best_before: date | None = None
    delivered_kg: Annotated[float, within(LOT_DELIVERED_KG)] | None = None
    """What was delivered of it (kg); None: not known, and so is what is left."""
    granulation: Grain | None = None
    """How it is ground: fine, medium or coarse; None: not known."""
    grain_um: Annotated[float, within(GRANULATION_UM)] | None = None
    """The same as a figure of the mill's, in the place of the word (micrometres)."""
    moisture_pct: Annotated[float, within(LOT_MOISTURE_PCT)] | None = None
    """Water of the flour itself, wet basis, as measured (%); None: not measured."""

    @property
    def size_um(self) -> float | None:
        """Size of its grains (micrometres); None: not known."""
        return SIZES_UM[self.granulation] if self.granulation else self.grain_um


def as_said(lot: str) -> str:
    """A lot as it is said and kept: of a mark with figures in it, "b-12", the letters and figures: B12."""
    if not any(sign.isdecimal() for sign in lot):
        return plain(lot)
    return "".join(sign for sign in lot.upper() if sign.isalnum())


def read_stock(file: Path) -> dict[str, StockedLot]:
    """Lots by name, as they are said; none where there is no file. Raises SettingsError (one line)."""
    written = read_sections(file, StockedLot, optional=True)
    lots: dict[str, StockedLot] = {}
    for name, lot in written.items():
        if (said := as_said(name)) in lots:
            raise Place(file, keys=(name,)).refuse(f"is lot {said}, which is there already; remove one.")
        lots[said] = lot
        if lot.granulation and lot.grain_um:
            raise Place(file, keys=(name, "granulation")).refuse(
                f'= "{lot.granulation}" is said by grain_um = {lot.grain_um:g} too; remove one of them.'
            )
        if lot.received and lot.best_before and lot.best_before < lot.received:
            raise Place(file, keys=(name, "best_before")).refuse(
                f"= {lot.best_before} is before received = {lot.received}; exchange or change them."
            )
    return lots
