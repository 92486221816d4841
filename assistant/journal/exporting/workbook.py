"""Tables as the sheets of a workbook (xlsx, ISO/IEC 29500), written row by row by openpyxl.

Each cell has its type set: a text that looks like a formula stays a text, and a number is written in as many
digits as it takes to read it back equal, where the library itself writes sixteen.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from datetime import tzinfo
from pathlib import Path
from typing import Any

from assistant.errors import JournalError
from assistant.journal.exporting.columns import Column, Table, Value
from assistant.journal.exporting.text_files import plain

MOST_ROWS = 1_048_576
"""Rows that a sheet holds, its head among them (Microsoft's "Excel specifications and limits")."""
_NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0d\x0e-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
"""Signs that XML can't hold or that are read as another one; and what would be taken for such an escape."""
LEGEND = ("table", "column", "type", "unit", "what")


def need_openpyxl() -> Any:
    """The library. Raises JournalError, one line, where it is not installed."""
    try:
        import openpyxl
    except ModuleNotFoundError:
        raise JournalError(
            "a workbook needs openpyxl, which is not installed; install crumbcall[export], or name a "
            "folder to get CSV."
        ) from None
    return openpyxl


def write_workbook(
    file: Path, tables: Iterable[tuple[Table, Iterable[tuple[Value, ...]]]], zone: tzinfo | None
) -> int:
    """Write the tables as sheets, and a sheet that says what each column is; how many rows there were."""
    book = need_openpyxl().Workbook(write_only=True)
    try:
        count = _fill(book, tables, zone)
        book.save(file)
    except BaseException:
        _abandon(book)
        raise
    return count


def _abandon(book: Any) -> None:
    """Close the sheets of a book that was not written: as garbage they would fail in whatever runs then."""
    for sheet in book.worksheets:
        with suppress(Exception):
            sheet.close()


def _fill(book: Any, tables: Iterable[tuple[Table, Iterable[tuple[Value, ...]]]], zone: tzinfo | None) -> int:
    count, seen = 0, list[Table]()
    for table, rows in tables:
        sheet = _sheet(book, table.name, table.names)
        seen.append(table)
        for number, row in enumerate(rows, 2):
            if number > MOST_ROWS:
                raise JournalError(f"{table.name}: a sheet holds {MOST_ROWS:,} rows; export as CSV instead.")
            sheet.append(_cell(sheet, *pair, zone) for pair in zip(table.columns, row, strict=True))
            count += 1
    legend = _sheet(book, "columns", LEGEND)
    for line in _legend(seen):
        legend.append(_text(legend, one) for one in line)
    return count


def _sheet(book: Any, name: str, head: Sequence[str]) -> Any:
    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    for at in range(len(head)):
        sheet.column_dimensions[_letters(at)].width = 16
    sheet.append(_text(sheet, one) for one in head)
    return sheet


def _letters(at: int) -> str:
    """Name of a column by its place from 0: A, B, ... Z, AA."""
    return ("" if at < 26 else chr(64 + at // 26)) + chr(65 + at % 26)


def _legend(tables: Iterable[Table]) -> Iterator[tuple[str, ...]]:
    for table in tables:
        for one in table.columns:
            allowed = f": {', '.join(one.allowed)}" if one.allowed else ""
            yield table.name, one.name, one.kind, one.unit, one.what + allowed


def _cell(sheet: Any, column: Column, value: Value, zone: tzinfo | None) -> Any:
    shown = plain(column, value, zone)
    if shown is None or isinstance(shown, bool):
        return shown
    if isinstance(shown, str):
        return _text(sheet, shown)
    cell = _text(sheet, repr(shown))
    cell.data_type = "n"
    return cell


def _text(sheet: Any, text: str) -> Any:
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet, _NOT_IN_XML.sub(lambda sign: f"_x{ord(sign[0]):04X}_", text))
    cell.data_type = "s"
    return cell
