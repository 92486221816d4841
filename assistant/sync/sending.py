"""What a station recorded, sent to the group's server: from where it stopped, each decision exactly once.

The server's own head says what it has. A decision that is sent twice is there once, and one that is not the
station's next is refused by the server, so a cut at any moment loses nothing and doubles nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec

from assistant.errors import SyncError
from assistant.journal.decision_rows import Decided, DecisionReader, Touched
from assistant.journal.shapes import encoder
from assistant.journal.summaries import LotBatch
from assistant.sync.link import NEEDED_VERSION, Server, told
from assistant.sync.member import Member

if TYPE_CHECKING:
    from psycopg import Connection

    Link = Connection[tuple[object, ...]]

AT_ONCE = 500
"""Decisions of one transaction: some hundred kB."""


@dataclass(frozen=True, slots=True)
class Head:
    """What the server has of a station."""

    station: int
    """Its number there."""
    decision: int
    """The last decision that it has; 0: none."""
    chain: str
    """The chain of that one."""
    flour: int
    """The decision up to which it knows what batches say of their flour."""


def check_version(link: "Link", server: Server) -> None:
    """Raise SyncError where the server's tables are older than this program needs."""
    with told(server):
        row = link.execute("SELECT version_num FROM crumbcall.version").fetchone()
    found = int(str(row[0])) if row else 0
    if found < NEEDED_VERSION:
        raise SyncError(
            f"The group's server, {server.name}: its tables are of step {found}, and this crumbcall needs "
            f"{NEEDED_VERSION}; there: crumbcall sync prepare. This station goes on alone."
        )


def claim(link: "Link", server: Server, me: Member) -> Head:
    """Own the station's name, where it is free or owned already; what the server has of it.

    Raises SyncError where another installation owns it.
    """
    import psycopg

    try:
        with told(server):
            link.execute(
                "INSERT INTO crumbcall.claims (name, installation) VALUES (%s, %s)", (me.name, me.digest)
            )
            link.commit()
    except SyncError as error:
        cause = error.__cause__
        if isinstance(cause, psycopg.Error) and cause.sqlstate == "CR001":
            link.rollback()
            raise SyncError(_taken(me, cause.diag.message_detail)) from error
        raise
    return head_of(link, server, me)


def _taken(me: Member, heard: str | None) -> str:
    return (
        f"Another installation sends as {me.name!r} (last {heard}), so this one does not. Two stations can't "
        "have one name: give this one its own in [station] id. If it takes the other's place, have the name "
        f"freed first, where the server is: crumbcall sync release '{me.name}'."
    )


def head_of(link: "Link", server: Server, me: Member) -> Head:
    """What the server has of this station. Raises SyncError."""
    with told(server):
        row = link.execute(
            "SELECT station, decision, encode(chain, 'hex'), flour FROM crumbcall.stations WHERE name = %s",
            (me.name,),
        ).fetchone()
        link.commit()
    if row is None:
        raise SyncError(f"{server.name} has no station {me.name!r}.")
    station, decision, chain, flour = (str(one) for one in row)
    return Head(int(station), int(decision), chain, int(flour))


def check_history(journal: DecisionReader, head: Head, me: Member) -> None:
    """Raise SyncError where the server's decisions of this station are not those of this journal."""
    have = journal.last_decision()
    if head.decision > have:
        raise SyncError(
            f"The server has {head.decision} decisions of {me.name!r}, and this journal only {have}: "
            "it is an older copy, or another. Nothing is sent. Move it away and run crumbcall sync restore, "
            "or give this station a name of its own in [station] id."
        )
    if journal.chain(head.decision) != head.chain:
        raise SyncError(
            f"The journal here is not the one that the group's server has of {me.name!r}: their first "
            f"{head.decision} decisions differ. Nothing is sent. Give this station a name of its own in "
            "[station] id, or move the journal away and run crumbcall sync restore."
        )


def send_some(link: "Link", server: Server, me: Member, head: Head, journal: DecisionReader) -> Head:
    """Send the next decisions after the server's head, and what they say of flour; the head after them.

    The same head where there are none. Whole or not at all. Raises SyncError.
    """
    decided = journal.decisions(head.decision, AT_ONCE)
    if not decided:
        return head
    last = decided[-1]
    flour = journal.touched(decided)
    with told(server):
        try:
            link.execute("SELECT set_config('crumbcall.installation', %s, true)", (me.installation,))
            link.execute(
                insert(len(decided)), [value for one in decided for value in values_of(head.station, one)]
            )
            _refuse_others(link, head, me, decided)
            _send_flour(link, head, last.row.number, flour)
            link.commit()
        except BaseException:
            if not link.closed:
                link.rollback()
            raise
    return Head(head.station, last.row.number, last.chain, last.row.number if flour else head.flour)


COLUMNS = """station, decision, sequence, wall, monotonic, wall_trusted, boot, name,
    batches, names, bodies, chain"""
"""Columns of a decision that a station sends."""
_VALUES = "(%s, %s, %s, %s::float8, %s::float8, %s, %s, %s, %s::int[], %s::text[], %s::text[], %s::bytea)"


def insert(many: int) -> bytes:
    """The statement that inserts so many decisions, those that are there left alone."""
    values = ", ".join([_VALUES] * many)
    return f"INSERT INTO crumbcall.decisions ({COLUMNS}) VALUES {values} ON CONFLICT DO NOTHING".encode()


def values_of(station: int, one: Decided) -> tuple[object, ...]:
    """The values of a decision for `insert`."""
    of, events = one.row, one.events
    return (
        station,
        of.number,
        events[0].sequence,
        of.wall,
        of.monotonic,
        bool(of.wall_trusted),
        of.boot,
        of.station,
        [event.batch for event in events],
        [event.name for event in events],
        [event.body for event in events],
        bytes.fromhex(one.chain),
    )


def _refuse_others(link: "Link", head: Head, me: Member, decided: Sequence[Decided]) -> None:
    """What was there already must be the same: another decision of that number is not passed over."""
    found = link.execute(
        """SELECT min(d.decision) FROM unnest(%s::bigint[], %s::bytea[]) AS came(decision, chain)
        JOIN crumbcall.decisions d ON d.station = %s AND d.decision = came.decision
        WHERE d.chain <> came.chain""",
        ([one.row.number for one in decided], [bytes.fromhex(one.chain) for one in decided], head.station),
    ).fetchone()
    if found is not None and found[0] is not None:
        raise SyncError(
            f"The group's server has another decision {found[0]} of {me.name!r}. Nothing is sent. Give this "
            "station a name of its own in [station] id."
        )


def _send_flour(link: "Link", head: Head, decision: int, touched: Sequence[Touched]) -> None:
    if touched:
        link.execute(
            """INSERT INTO crumbcall.flour (station, decision, batch, lot, ended_wall, body)
            SELECT %s, %s, came.* FROM unnest(%s::int[], %s::text[], %s::float8[], %s::text[]) AS came
            ON CONFLICT DO NOTHING""",
            (
                head.station,
                decision,
                [one.number for one in touched],
                [one.evidence and one.evidence.lot for one in touched],
                [one.evidence and one.evidence.ended_wall for one in touched],
                [_body(one) for one in touched],
            ),
        )


def _body(one: Touched) -> str | None:
    if one.evidence is None:
        return None
    found = encoder(LotBatch)(one.evidence)
    del found["station"]  # the row says it
    return msgspec.json.encode(found).decode()
