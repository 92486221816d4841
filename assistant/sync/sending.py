"""What a station recorded, sent to the group's server: from where it stopped, each decision exactly once.

The server's own head says what it has. A decision that is sent twice is there once, and one that is not the
station's next is refused by the server, so a cut at any moment loses nothing and doubles nothing.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec

from assistant.errors import SyncError
from assistant.journal.decision_rows import FIRST_LINK, DecisionReader, Touched, link_after
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
class Known:
    """A decision that was compared before, kept so that the next look begins there and not at the first."""

    decision: int = 0
    link: bytes = FIRST_LINK
    text: str = ""
    """SHA-256 of its text: that it is the same journal still."""

    @classmethod
    def of(cls, journal: DecisionReader, head: "Head") -> "Known":
        """The server's last decision, which is the journal's."""
        return cls(head.decision, head.link, _digest(journal, head.decision))

    def still_in(self, journal: DecisionReader) -> bool:
        """Whether it is a decision of this journal."""
        return self.decision == 0 or _digest(journal, self.decision) == self.text


def _digest(journal: DecisionReader, decision: int) -> str:
    rows = journal.decisions(decision - 1, 1) if decision else []
    return hashlib.sha256(rows[0].text.encode()).hexdigest() if rows else ""


@dataclass(frozen=True, slots=True)
class Head:
    """What the server has of a station."""

    station: int
    """Its number there."""
    decision: int
    """The last decision that it has; 0: none."""
    link: bytes
    """The link of that one."""
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
            "SELECT station, decision, chain, flour FROM crumbcall.stations WHERE name = %s", (me.name,)
        ).fetchone()
        link.commit()
    if row is None:
        raise SyncError(f"{server.name} has no station {me.name!r}.")
    station, decision, chain, flour = row
    assert isinstance(station, int) and isinstance(decision, int) and isinstance(flour, int)  # noqa: PT018
    return Head(station, decision, bytes(chain), flour)  # type: ignore[call-overload]


def check_history(journal: DecisionReader, head: Head, me: Member, known: Known) -> Known:
    """Raise SyncError where the server's decisions of this station are not those of this journal.

    `known`: what an earlier look found; what this one did, for the next.
    """
    have = journal.last_decision()
    if head.decision > have:
        raise SyncError(
            f"The group's server has {head.decision} decisions of {me.name!r}, and here are only {have}: "
            "it is an older copy, or another. Nothing is sent. Move it away and run crumbcall sync restore, or "
            "give this station a name of its own in [station] id."
        )
    start = known if known.decision <= head.decision and known.still_in(journal) else Known()
    if journal.link(head.decision, start.decision, start.link) != head.link:
        raise SyncError(
            f"The journal here is not the one that the group's server has of {me.name!r}: their first "
            f"{head.decision} decisions differ. Nothing is sent. Give this station a name of its own in "
            "[station] id, or move the journal away and run crumbcall sync restore."
        )
    return Known.of(journal, head)


def send_some(link: "Link", server: Server, me: Member, head: Head, journal: DecisionReader) -> Head:
    """Send the next decisions after the server's head, and what they say of flour; the head after them.

    The same head where there are none. Whole or not at all. Raises SyncError.
    """
    rows = journal.decisions(head.decision, AT_ONCE)
    if not rows:
        return head
    texts, links, last = [], [], head.link
    for row in rows:
        texts.append(row.text)
        last = link_after(last, texts[-1])
        links.append(last)
    numbers = [row.decision for row in rows]
    flour = [] if head.flour >= numbers[-1] else journal.touched(rows)
    with told(server):
        try:
            link.execute("SELECT set_config('crumbcall.installation', %s, true)", (me.installation,))
            link.execute(_INSERT, (head.station, numbers, texts, links))
            _refuse_others(link, head, me, numbers, links)
            _send_flour(link, head, numbers[-1], flour)
            link.commit()
        except BaseException:
            if not link.closed:
                link.rollback()
            raise
    return Head(head.station, numbers[-1], last, numbers[-1] if flour else head.flour)


_INSERT = """INSERT INTO crumbcall.decisions (station, decision, record, chain)
    SELECT %s, came.* FROM unnest(%s::bigint[], %s::text[], %s::bytea[]) AS came ON CONFLICT DO NOTHING"""


def _refuse_others(
    link: "Link", head: Head, me: Member, numbers: Sequence[int], links: Sequence[bytes]
) -> None:
    """What was there already must be the same: another decision of that number is not passed over."""
    row = link.execute(
        """SELECT min(d.decision) FROM unnest(%s::bigint[], %s::bytea[]) AS came(decision, chain)
        JOIN crumbcall.decisions d ON d.station = %s AND d.decision = came.decision
        WHERE d.chain <> came.chain""",
        (numbers, links, head.station),
    ).fetchone()
    if row is not None and row[0] is not None:
        raise SyncError(
            f"The group's server has another decision {row[0]} of {me.name!r}. Nothing is sent. Give this "
            "station a name of its own in [station] id."
        )


def _send_flour(link: "Link", head: Head, decision: int, touched: Sequence[Touched]) -> None:
    if touched:
        link.execute(
            """INSERT INTO crumbcall.flour (station, decision, batch, body)
            SELECT %s, %s, came.* FROM unnest(%s::int[], %s::text[]) AS came ON CONFLICT DO NOTHING""",
            (head.station, decision, [one.number for one in touched], [_body(one) for one in touched]),
        )


def _body(one: Touched) -> str | None:
    if one.evidence is None:
        return None
    found = encoder(LotBatch)(one.evidence)
    del found["station"]  # the row says it
    return msgspec.json.encode(found).decode()
