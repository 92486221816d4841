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
from assistant.dough.lots import UNNAMED_FLOUR
from assistant.dough.ranges import LOT_DELIVERED_KG, LOT_MOISTURE_PCT

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
    moisture_pct: Annotated[float, within(LOT_MOISTURE_PCT)] | None = None
    """Water of the flour itself, wet basis, as measured (%); None: not measured."""


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
        if lot.received and lot.best_before and lot.best_before < lot.received:
            raise Place(file, keys=(name, "best_before")).refuse(
                f"= {lot.best_before} is before received = {lot.received}; exchange or change them."
            )
    return lots
