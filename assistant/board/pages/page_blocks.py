"""What a page is made of: facts, tables, figures, lists and lines, as values. The template writes them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import ClassVar
from urllib.parse import quote

from assistant.sheets.charts.figure import Figure, Spec, Table
from assistant.sheets.charts.theme import for_page


@dataclass(frozen=True, slots=True)
class Cell:
    """A text, or a way to another page."""

    text: str
    href: str | None = None


def to_batch(number: int) -> Cell:
    """The way to the page of a batch."""
    return Cell(str(number), f"/batches/{number}")


def to_lot(lot: str) -> Cell:
    """The way to the page of a lot, whatever its name is."""
    return Cell(lot, f"/lots/{quote(lot, safe='')}")


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels, each with its value."""

    kind: ClassVar[str] = "facts"
    rows: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table under its heading; `empty` stands where it has no row."""

    kind: ClassVar[str] = "grid"
    heading: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    empty: str
    numbers: frozenset[int] = frozenset()
    """Columns that are set to the right."""

    @classmethod
    def of(cls, heading: str, table: Table, empty: str) -> "Grid":
        """The table of a figure."""
        rows = tuple(tuple(map(Cell, row)) for row in table.rows)
        return cls(heading, table.head, rows, empty, table.numbers)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A figure with its table beside it."""

    kind: ClassVar[str] = "drawn"
    figure: Figure
    empty: str
    """What stands in its place where there is nothing to draw."""
    beside: Grid | None = None
    """A table that has its figures and more; None: its own."""

    @property
    def spec(self) -> Spec:
        """What the page's script draws."""
        return for_page(self.figure)

    @property
    def grid(self) -> Grid:
        """The same figures in rows."""
        return self.beside or Grid.of("", self.figure.table, self.empty)


@dataclass(frozen=True, slots=True)
class Lists:
    """A list under each heading."""

    kind: ClassVar[str] = "lists"
    parts: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of text, or headings."""

    kind: ClassVar[str] = "lines"
    texts: tuple[str, ...]
    heading: bool = False


@dataclass(frozen=True, slots=True)
class Ways:
    """Ways to neighbouring pages."""

    kind: ClassVar[str] = "ways"
    label: str
    """What they are, for who hears the page."""
    cells: tuple[Cell, ...]


Block = Facts | Grid | Drawn | Lists | Lines | Ways


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its title, and what is on it from above down."""

    title: str
    blocks: Sequence[Block] = field(default_factory=tuple)

    @property
    def draws(self) -> bool:
        """Whether the script that draws is needed."""
        return any(isinstance(one, Drawn) and not one.figure.empty for one in self.blocks)
