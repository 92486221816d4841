"""What the other stations of the group know, fetched from the server into the station's own copy."""

from typing import TYPE_CHECKING

from assistant.sync.group_file import FlourRow, GroupFile
from assistant.sync.link import Server, told
from assistant.sync.member import Member

if TYPE_CHECKING:
    from psycopg import Connection

AT_ONCE = 5000
"""Rows of one look."""
_NEWER = """
    SELECT s.name, f.decision, f.batch, f.body
    FROM crumbcall.stations s
    LEFT JOIN unnest(%s::text[], %s::bigint[]) AS here(name, decision) ON here.name = s.name
    CROSS JOIN LATERAL (
        SELECT f.decision, f.batch, f.body FROM crumbcall.flour f
        -- A server that was set back to an older copy knows less than is here: then all of it again.
        WHERE f.station = s.station
            AND f.decision > CASE WHEN here.decision > s.flour THEN 0 ELSE coalesce(here.decision, 0) END
        ORDER BY f.decision, f.batch LIMIT %s
    ) f
    WHERE s.name <> %s AND s.flour IS DISTINCT FROM coalesce(here.decision, 0)
    ORDER BY s.station, f.decision, f.batch LIMIT %s"""


def fetch_flour(link: "Connection[tuple[object, ...]]", server: Server, me: Member, group: GroupFile) -> int:
    """Fetch what others' batches say of their flour; how many rows came. Raises SyncError."""
    came = 0
    while True:
        here = group.cursors()
        with told(server):
            found = link.execute(
                _NEWER, (list(here), list(here.values()), AT_ONCE, me.name, AT_ONCE)
            ).fetchall()
            link.commit()
        rows = [_row(one) for one in found]
        if len(rows) == AT_ONCE:
            # Rows of one decision belong together: those of the last may be cut.
            last = rows[-1].station, rows[-1].decision
            whole = [row for row in rows if (row.station, row.decision) != last]
            rows = whole or rows
        if not rows:
            return came
        group.take(rows, {row.station: row.decision for row in rows})
        came += len(rows)
        if len(found) < AT_ONCE:
            return came


def _row(found: tuple[object, ...]) -> FlourRow:
    station, decision, batch, body = found
    return FlourRow(str(station), int(str(decision)), int(str(batch)), None if body is None else str(body))
