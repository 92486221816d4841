"""Seals of derived rows: what they hold is what the program wrote, or they are made again. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import astuple, fields
from hashlib import blake2b, sha256
from typing import Any

from assistant.journal.guard.following import BatchRow
from assistant.journal.summaries import BatchSummary

SUMMARY = [column.name for column in fields(BatchSummary)]
COLUMNS = [*SUMMARY, "first", "last", "before", "seal"]
"""Of the table `batches`."""
_REAL = {"opened_wall", "ended_wall", "flour_g", "water_g", "hydration_pct"}


def values_of(row: BatchRow, before: int) -> tuple[Any, ...]:
    """All columns of a row; `before`: number of the batch before it in the table, 0 where it is the first."""
    values = [_stored(name, value) for name, value in zip(SUMMARY, astuple(row.summary), strict=True)]
    values += [row.first, row.last, before]
    return (*values, seal_of(values))


def seal_of(values: Iterable[Any]) -> int:
    """Seal over all other columns of a row, in their order, as SQLite gives them."""
    digest = blake2b(repr(tuple(values)).encode(), digest_size=8).digest()
    return int.from_bytes(digest, "big", signed=True)


def snapshot_seal(sequence: int, decision: int, chain: str, code: str, state: str) -> str:
    """Seal over the other columns of a snapshot."""
    return sha256("\n".join([str(sequence), str(decision), chain, code, state]).encode()).hexdigest()


def row_of(values: tuple[Any, ...]) -> BatchRow:
    """A row from its columns."""
    return BatchRow(summary_of(values), *values[len(SUMMARY) : len(SUMMARY) + 2])


def summary_of(values: Sequence[Any]) -> BatchSummary:
    """The summary in the columns of a row, of which there may be more."""
    number, wall, trusted, ended, ended_trusted = values[:5]
    return BatchSummary(number, wall, trusted != 0, ended, ended_trusted != 0, *values[5 : len(SUMMARY)])


def rows_are_sealed(rows: Iterable[tuple[Any, ...]]) -> bool:
    """Whether all rows, in the order of their numbers, are as they were written, none missing between."""
    number = 0
    for row in rows:
        if row[-1] != seal_of(row[:-1]) or row[-2] != number:
            return False
        number = row[0]
    return True


def _stored(name: str, value: Any) -> Any:
    if isinstance(value, bool):
        return int(value)
    return float(value) if name in _REAL and value is not None else value
