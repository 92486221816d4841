"""A replaced machine: its journal, made again from what the server has of the station."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.errors import SyncError
from assistant.journal.decision_rows import FIRST_LINK, DecisionRow, link_after, row_of, write_journal
from assistant.sync.link import Server, told
from assistant.sync.sending import Head

if TYPE_CHECKING:
    from psycopg import Connection

AT_ONCE = 2000


def restore_journal(
    link: "Connection[tuple[object, ...]]", server: Server, head: Head, path: Path
) -> tuple[int, int]:
    """Write a journal of all decisions that the server has; how many decisions and events it has.

    Every link is computed anew, so that nothing was changed or left out on the way. Raises SyncError or
    JournalError; then there is no new file.
    """
    if head.decision == 0:
        raise SyncError(f"{server.name} has no decisions of this station; there is nothing to restore.")
    if path.exists():
        raise SyncError(f"{path}: there is a journal already, and it is not overwritten; move it away first.")
    part = path.with_name(path.name + ".part")
    found = write_journal(part, _verified(link, server, head))
    part.rename(path)
    return found


def _verified(
    link: "Connection[tuple[object, ...]]", server: Server, head: Head
) -> Iterator[list[DecisionRow]]:
    before, last = 0, FIRST_LINK
    while before < head.decision:
        with told(server):
            found = link.execute(
                """SELECT decision, record FROM crumbcall.decisions
                WHERE station = %s AND decision > %s AND decision <= %s ORDER BY decision LIMIT %s""",
                (head.station, before, head.decision, AT_ONCE),
            ).fetchall()
            link.commit()
        rows = []
        for decision, text in found:
            row = row_of(str(text))
            if decision != before + 1 or row.decision != decision:
                break
            before, last = before + 1, link_after(last, str(text))
            rows.append(row)
        if len(rows) < len(found) or not found:
            raise SyncError(
                f"{server.name} lacks decision {before + 1} of this station; nothing is restored."
            )
        yield rows
    if last != head.link:
        raise SyncError(
            f"{server.name}: the decisions it has are not what their chain says; nothing is restored."
        )
