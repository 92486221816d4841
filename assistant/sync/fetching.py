"""What the other stations of the group know, fetched from the server into the station's own copy."""

from typing import TYPE_CHECKING

from assistant.sync.group_file import MOST_BATCHES, MOST_LOTS, FlourRow, GroupFile
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


_FIRST = """
    WITH now_known AS (
        SELECT DISTINCT ON (f.station, f.batch) s.name, f.decision, f.batch, f.lot, f.ended_wall, f.body
        FROM crumbcall.flour f JOIN crumbcall.stations s USING (station) WHERE s.name <> %s
        ORDER BY f.station, f.batch, f.decision DESC
    ), lots AS (
        SELECT lot FROM now_known WHERE body IS NOT NULL GROUP BY lot ORDER BY max(ended_wall) DESC LIMIT %s
    ), counted AS (
        SELECT *, row_number() OVER (PARTITION BY lot ORDER BY ended_wall DESC) AS place
        FROM now_known JOIN lots USING (lot) WHERE body IS NOT NULL
    )
    SELECT name, decision, batch, body FROM counted WHERE place <= %s"""


def fetch_first(link: "Connection[tuple[object, ...]]", server: Server, me: Member, group: GroupFile) -> int:
    """Fetch what a new station needs: the newest batches of the lots last used, not the years before.

    How many rows came. Raises SyncError.
    """
    with told(server):
        # Before the rows: what comes in between is fetched once more by the next look.
        heads = link.execute(
            "SELECT name, flour FROM crumbcall.stations WHERE name <> %s", (me.name,)
        ).fetchall()
        found = link.execute(_FIRST, (me.name, MOST_LOTS, MOST_BATCHES)).fetchall()
        link.commit()
    group.take([_row(one) for one in found], {str(name): int(str(flour)) for name, flour in heads})
    return len(found)


def fetch_flour(link: "Connection[tuple[object, ...]]", server: Server, me: Member, group: GroupFile) -> int:
    """Fetch what others' batches say of their flour; how many rows came. Raises SyncError."""
    if not group.cursors():
        return fetch_first(link, server, me, group)
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
