"""The kitchen's flour lots as it wrote them down: `lots.toml` beside its settings, a section a lot.

What is not written is not known; a lot that is not there can be used all the same. Traceability one step back is law
in the EU (Regulation (EC) 178/2002 article 18): this file is no replacement for the kitchen's own record of it.
"""

import difflib
import tomllib
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from assistant.dough.lots import UNNAMED_FLOUR
from assistant.errors import SettingsError

FILE = "lots.toml"


class StockedLot(Struct, frozen=True, forbid_unknown_fields=True):
    """A lot on the shelf."""

    flour: Annotated[str, Meta(min_length=1, max_length=40)] = UNNAMED_FLOUR
    supplier: str = ""
    received: date | None = None
    best_before: date | None = None
    moisture_pct: Annotated[float, Meta(ge=5, le=20)] | None = None


_ALLOWED = {
    "flour": "a text of 1 to 40 letters",
    "supplier": "a text",
    "received": "a date, as 2026-03-02",
    "best_before": "a date, as 2026-03-02",
    "moisture_pct": "a number from 5 to 20 %",
}


def read_stock(file: Path) -> dict[str, StockedLot]:
    """Lots by name; none where there is no file. Raises SettingsError (one line: file, lot, key, value, range)."""
    try:
        found = tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise SettingsError(
            f"{file} can't be read ({error.strerror}); make it readable or move it away."
        ) from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{file} is not UTF-8 text (byte {error.start}); save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:
        why = str(error).rstrip(".") or "nested too deeply"
        raise SettingsError(f"{file} is not TOML: {why}; mend it, or move it away.") from error
    return {lot: _lot(file, lot, values) for lot, values in found.items()}


def _lot(file: Path, lot: str, values: Any) -> StockedLot:
    if not isinstance(values, dict):
        raise SettingsError(
            f"{file}: {lot} = {values!r} is no lot; write [{lot}] on a line of its own, facts below."
        )
    taken: dict[str, Any] = {}
    for field in msgspec.structs.fields(StockedLot):
        if field.name in values:
            value = values[field.name]
            try:
                taken[field.name] = msgspec.convert(value, field.type)
            except (msgspec.ValidationError, OverflowError):
                raise SettingsError(
                    f"{file}: [{lot}] {field.name} = {value!r}, allowed is {_ALLOWED[field.name]}; change it."
                ) from None
    for key in values:
        if key not in taken:
            near = difflib.get_close_matches(key, list(_ALLOWED), n=1)
            hint = f"is {near[0]} meant?" if near else f"there are {', '.join(_ALLOWED)}."
            raise SettingsError(f"{file}: [{lot}] has no {key!r}; {hint}")
    stocked = StockedLot(**taken)
    if stocked.received and stocked.best_before and stocked.best_before < stocked.received:
        raise SettingsError(
            f"{file}: [{lot}] best_before = {stocked.best_before} lies before received = {stocked.received}; "
            "exchange or change them."
        )
    return stocked
