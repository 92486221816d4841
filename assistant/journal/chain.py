"""The checksum chain over decisions: each one's digest covers its own content and the digest before it. Pure.

A decision's `chain` is the SHA-256 (FIPS 180-4), in hexadecimal, of these fields one after the other:

    previous chain, number, wall, monotonic, boot, wall_trusted, station,
    and of each of its events, in their order: sequence, batch, name, body

Whole numbers are 8 bytes, signed, the most significant first; `wall_trusted` is 1 or 0, `batch` 0 where there
is none. Numbers with a fraction are 8 bytes of IEEE 754, likewise. A text is the count of its bytes in UTF-8
as such a whole number, then these bytes. In PostgreSQL these are `int8send`, `float8send` and `convert_to`.
"""

import struct
from collections.abc import Iterable
from hashlib import sha256
from typing import NamedTuple

FIRST = ""
"""Previous chain of the first decision."""

Text = str | bytes
"""A text, or its bytes as they lie in the file, which need not be UTF-8 where it is damaged."""


Decision = tuple[int, float, float, Text, int, Text]
"""Columns of a `DecisionRow`."""
Event = tuple[int, int | None, Text, Text]
"""Columns of an `EventRow`."""


class DecisionRow(NamedTuple):
    """A row of `decisions`, without its chain."""

    number: int
    """Counted from 1."""
    wall: float
    """Wall time (s since 1970, UTC)."""
    monotonic: float
    """Monotonic time of its boot (s)."""
    boot: Text
    wall_trusted: int
    """1 where the wall clock was known to be right, or 0."""
    station: Text


class EventRow(NamedTuple):
    """A row of `events`, without its decision."""

    sequence: int
    """Counted from 1."""
    batch: int | None
    """Number of the batch that it belongs to; None for one of the station's."""
    name: Text
    body: Text
    """JSON."""


_LENGTH = struct.Struct(">q").pack
_MOMENT = struct.Struct(">qddq").pack
_TRUST = struct.Struct(">qq").pack
_PLACE = struct.Struct(">qqq").pack


def chained(previous: str, decision: Decision, events: Iterable[Event]) -> str:
    """Chain of a decision, by the chain of the one before it (`FIRST` where there is none) and its rows.

    Raises ValueError where a value has not the type of its column, as only damage can bring about.
    """
    number, wall, monotonic, boot, trusted, station = decision
    try:
        boot, station, before = _bytes(boot), _bytes(station), previous.encode()
        parts = [
            _LENGTH(len(before)),
            before,
            _MOMENT(number, wall, monotonic, len(boot)),
            boot,
            _TRUST(trusted, len(station)),
            station,
        ]
        for sequence, batch, name, body in events:
            name, body = _bytes(name), _bytes(body)  # noqa: PLW2901
            parts += (_PLACE(sequence, batch or 0, len(name)), name, _LENGTH(len(body)), body)
        return sha256(b"".join(parts)).hexdigest()
    except (struct.error, AttributeError, TypeError, UnicodeError) as error:
        raise ValueError(f"decision {number!r} holds a value of another type: {error}") from error


def _bytes(value: Text) -> bytes:
    return value if type(value) is bytes else value.encode()  # type: ignore[union-attr]
