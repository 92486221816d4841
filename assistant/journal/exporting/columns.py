"""What an export is made of: tables of typed columns, each with its unit. Values only."""

from dataclasses import dataclass
from typing import Literal

Value = int | float | str | bool | None
"""What a cell holds: of a time the wall time (s since 1970), of a truth value a bool."""
Kind = Literal["integer", "number", "string", "boolean", "date", "datetime"]
"""Types of the Table Schema standard that are used here."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column."""

    name: str
    kind: Kind
    what: str
    """What it says, for a reader."""
    unit: str = ""
    """Unit of a number, by its code in the Unified Code for Units of Measure; empty: it has none."""
    allowed: tuple[str, ...] = ()
    """All values that there are; empty: any."""
    always: bool = False
    """Whether every row has it."""
    refers: tuple[str, str] | None = None
    """Table and column that it names a row of."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table."""

    name: str
    what: str
    key: tuple[str, ...]
    """Columns that name a row, by which rows are in order."""
    columns: tuple[Column, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns."""
        return tuple(one.name for one in self.columns)
