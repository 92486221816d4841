"""A replaced machine: its journal, made again from what the server has of the station."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.errors import SyncError
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.decision_rows import Decided, write_journal
from assistant.sync.link import Server, told
from assistant.sync.sending import Head

if TYPE_CHECKING:
    from psycopg import Connection

AT_ONCE = 2000


def restore_journal(
    link: "Connection[tuple[object, ...]]", server: Server, head: Head, path: Path
) -> tuple[int, int]:
    """Write a journal of all decisions that the server has; how many decisions and events it has.

    Every chain is computed anew, so that nothing was changed or left out on the way. Raises SyncError or
    JournalError; then there is no new file.
    """
    if head.decision == 0:
        raise SyncError(f"{server.name} has no decisions of this station; there is nothing to restore.")
    if path.exists():
        raise SyncError(f"{path}: there is a journal already, and it is not overwritten; move it away first.")
    part = path.with_name(path.name + ".part")
    found = write_journal(part, verified(link, server, head))
    part.rename(path)
    return found


def verified(link: "Connection[tuple[object, ...]]", server: Server, head: Head) -> Iterator[list[Decided]]:
    """The decisions that a server has of a station up to a head, piece by piece. Raises SyncError."""
    before, chain = 0, FIRST
    while before < head.decision:
        with told(server):
            found = link.execute(
                """SELECT decision, sequence, wall, monotonic, wall_trusted, boot, name,
                    batches, names, bodies, encode(chain, 'hex')
                FROM crumbcall.decisions
                WHERE station = %s AND decision > %s AND decision <= %s ORDER BY decision LIMIT %s""",
                (head.station, before, head.decision, AT_ONCE),
            ).fetchall()
            link.commit()
        decided = [_decided(one) for one in found]
        for one in decided:
            if one.row.number != before + 1 or chained(chain, one.row, one.events) != one.chain:
                break
            before, chain = before + 1, one.chain
        if not decided or before < decided[-1].row.number:
            raise SyncError(
                f"{server.name}: decision {before + 1} of this station is missing or was changed; "
                "nothing is restored."
            )
        yield decided
    if chain != head.chain:
        raise SyncError(
            f"{server.name}: its last decision is not the one that it names; nothing is restored."
        )


def _decided(found: tuple[Any, ...]) -> Decided:
    number, first, wall, monotonic, trusted, boot, name, batches, names, bodies, chain = found
    rows = zip(batches, names, bodies, strict=True)
    return Decided(
        DecisionRow(number, wall, monotonic, boot, int(trusted), name),
        tuple(EventRow(first + i, *row) for i, row in enumerate(rows)),
        chain,
    )
