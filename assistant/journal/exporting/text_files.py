"""Tables as text: CSV (RFC 4180) and JSON Lines, both UTF-8. Every number is read back equal.

A spreadsheet takes a cell that begins with one of = + - @, a tab or a carriage return for a formula (OWASP,
"CSV Injection"). In CSV such a text gets an apostrophe in front, and so does one that begins with an
apostrophe: whoever reads takes one away, and has what was there. Numbers are no texts. JSON needs none of it.
"""

import csv
import json
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, tzinfo
from pathlib import Path

from assistant.journal.exporting.columns import Column, Table, Value

GUARD = "'"
_BEGIN_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", GUARD, "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""With those that East Asian spreadsheets read as such, and the guard itself."""

Write = Callable[[Path, Table, Iterable[tuple[Value, ...]], tzinfo | None], int]
"""Writes a table's rows to a file, its times in a zone (None: the machine's); how many there were."""


def time_text(wall: float, zone: tzinfo | None) -> str:
    """A time in ISO 8601 to the millisecond, with its offset from UTC."""
    return datetime.fromtimestamp(wall, UTC).astimezone(zone).isoformat(timespec="milliseconds")


def plain(column: Column, value: Value, zone: tzinfo | None) -> Value:
    """A value as JSON has it: times are text."""
    if column.kind == "datetime" and isinstance(value, float):
        return time_text(value, zone)
    return value


def guarded(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return GUARD + text if text.startswith(_BEGIN_A_FORMULA) else text


def write_csv(file: Path, table: Table, rows: Iterable[tuple[Value, ...]], zone: tzinfo | None) -> int:
    """Write a table as CSV with a head."""
    count = 0
    with file.open("w", encoding="utf-8", newline="") as out:
        write = csv.writer(out, dialect="excel", lineterminator="\r\n")
        write.writerow(table.names)
        for row in rows:
            write.writerow(_cell(*pair, zone) for pair in zip(table.columns, row, strict=True))
            count += 1
    return count


def _cell(column: Column, value: Value, zone: tzinfo | None) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return str(plain(column, value, zone))
    return guarded(value)


def write_json_lines(file: Path, table: Table, rows: Iterable[tuple[Value, ...]], zone: tzinfo | None) -> int:
    """Write a table as JSON Lines, an object a row."""
    count = 0
    with file.open("w", encoding="utf-8", newline="\n") as out:
        for row in rows:
            pairs = zip(table.columns, row, strict=True)
            found = {column.name: plain(column, value, zone) for column, value in pairs}
            out.write(json.dumps(found, ensure_ascii=False, allow_nan=False) + "\n")
            count += 1
    return count


WRITERS: dict[str, Write] = {"csv": write_csv, "jsonl": write_json_lines}
"""Format -> what writes it."""
