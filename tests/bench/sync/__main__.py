"""Measures a group of many stations: `python -m tests.bench.sync --events 10000000 --out FILE`.

The server is filled by its owner, with the checks left out and every station a copy of the first, so that it
stands there as after a year; what is measured then goes the stations' own way, with every check.
"""

import argparse
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from threading import Thread

import psycopg

from assistant.journal.decision_rows import Decided, write_journal
from assistant.sync.fetching import fetch_flour
from assistant.sync.group_file import GroupFile
from assistant.sync.link import Server, connect
from assistant.sync.member import Member
from assistant.sync.restoring import verified
from assistant.sync.sending import AT_ONCE, COLUMNS, Head, claim, head_of, insert, values_of
from assistant.sync.server.prepare import prepare
from tests.bench.sync.group import Shape, Station, shape
from tests.sync.cluster import OWNER, Cluster

ACCOUNT, DATABASE = "kitchen", "bench"
MANY_DECISIONS = f"""INSERT INTO crumbcall.decisions ({COLUMNS})
    SELECT %(new)s, {COLUMNS.partition(", ")[2]} FROM crumbcall.decisions WHERE station = %(old)s""".encode()
MANY_FLOUR = b"""INSERT INTO crumbcall.flour (station, decision, batch, lot, ended_wall, body)
    SELECT %(new)s, decision, batch, %(lot)s || substr(lot, 3), ended_wall,
        replace(body, lot, %(lot)s || substr(lot, 3)) FROM crumbcall.flour WHERE station = %(old)s"""


def main() -> None:
    """Fill, measure, and print or write the table."""
    options = argparse.ArgumentParser()
    options.add_argument("--events", type=int, default=10_000_000)
    options.add_argument("--stations", type=int, default=200)
    options.add_argument("--more", type=int, default=400_000, help="events that are sent the stations' way")
    options.add_argument("--out", type=Path)
    given = options.parse_args()
    # As a small server is set, and with its writes on disk.
    cluster = Cluster("fsync=on", "shared_buffers=1GB", "max_wal_size=8GB", "work_mem=64MB")
    try:
        rows = Bench(cluster, given.stations, given.events).run(given.more)
    finally:
        cluster.remove()
    text = "\n".join(["| what | figure |", "|---|---|", *(f"| {what} | {figure} |" for what, figure in rows)])
    print(text)
    if given.out is not None:
        given.out.write_text(text + "\n")


ASKED = (
    (
        "the last hundred decisions of a station",
        "SELECT * FROM crumbcall.decisions WHERE station = 7 ORDER BY decision DESC LIMIT 100",
    ),
    (
        "the events of the last batch of a station",
        """SELECT * FROM crumbcall.events WHERE station = 7
        AND decision > (SELECT max(decision) - 15 FROM crumbcall.decisions WHERE station = 7)""",
    ),
    ("who is behind: all stations", "SELECT name, decision, heard FROM crumbcall.stations ORDER BY heard"),
    ("all batches of one lot in the group", "SELECT * FROM crumbcall.flour WHERE lot = '070010'"),
    (
        "verdicts of the group, counted over everything",
        """SELECT body->>'verdict', count(*) FROM crumbcall.events WHERE name = 'CrumbJudged' GROUP BY 1""",
    ),
)
"""What people ask of a group's memory."""


class Bench:
    """One server, its stations, and what is asked of it."""

    def __init__(self, cluster: Cluster, stations: int, events: int) -> None:
        self.cluster = cluster
        cluster.run(f"CREATE DATABASE {DATABASE}")
        self.owner = Server("127.0.0.1", cluster.port, DATABASE, OWNER)
        prepare(self.owner)
        cluster.run(f"CREATE ROLE {ACCOUNT} LOGIN IN ROLE crumbcall_station")
        cluster.let_in("host all all 127.0.0.1/32 trust")
        cluster.run("SELECT pg_reload_conf()")
        self.server = Server("127.0.0.1", cluster.port, DATABASE, ACCOUNT)
        self.shape: Shape = shape()
        self.stations = [Station(i, self.shape) for i in range(1, stations + 1)]
        self.events = events
        self.rows: list[tuple[str, str]] = []

    def note(self, what: str, figure: str) -> None:
        """A row of the table, shown at once."""
        print(f"{what}: {figure}", flush=True)
        self.rows.append((what, figure))

    def run(self, more: int) -> list[tuple[str, str]]:
        """Everything; the rows of the table."""
        self.fill()
        self.sizes()
        self.ingest(more)
        self.lag()
        self.queries()
        return self.rows

    def me(self, station: Station) -> Member:
        return Member(station.name, f"{station.number:032x}")

    def fill(self) -> None:
        """Bring all stations to their share of the events, past the checks."""
        with connect(self.server) as link:
            for station in self.stations:
                claim(link, self.server, self.me(station))
        many = self.events // (len(self.stations) * self.shape.events)
        began = time.perf_counter()
        with connect(self.owner) as link:
            link.execute("SET session_replication_role = replica")
            link.execute("SET statement_timeout = 0")
            found = link.execute("SELECT name, station FROM crumbcall.stations").fetchall()
            numbers: dict[str, object] = {str(name): number for name, number in found}
            first, *others = self.stations
            self.copy(link, first, int(str(numbers[first.name])), many)
            for station in others:
                values = {
                    "new": numbers[station.name],
                    "old": numbers[first.name],
                    "lot": f"{station.supplier:02}",
                }
                link.execute(MANY_DECISIONS, values)
                link.execute(MANY_FLOUR, values)
                station.go_on_as(first)
                link.commit()
            link.execute(
                "UPDATE crumbcall.stations SET decision = %s, chain = %s, flour = %s",
                (first.decision, bytes.fromhex(first.chain), first.decision),
            )
            link.commit()
        self.cluster.run("VACUUM ANALYZE", database=DATABASE)
        done = sum(station.sequence for station in self.stations)
        self.note(
            "stations, batches, decisions, events",
            f"{len(self.stations)}, {sum(s.batch for s in self.stations):,}, "
            f"{sum(s.decision for s in self.stations):,}, {done:,}",
        )
        self.note("filled, checks left out", f"{time.perf_counter() - began:.0f} s")

    def copy(
        self, link: "psycopg.Connection[tuple[object, ...]]", station: Station, at: int, many: int
    ) -> None:
        """Some batches of one station."""
        flour = []
        with (
            link.cursor() as cursor,
            cursor.copy(f"COPY crumbcall.decisions ({COLUMNS}) FROM STDIN".encode()) as copy,
        ):
            for _ in range(many):
                for one in station.next_batch():
                    copy.write_row(values_of(at, one))
                flour.append((at, station.decision, station.batch, *station.evidence()))
        with (
            link.cursor() as cursor,
            cursor.copy(
                "COPY crumbcall.flour (station, decision, batch, lot, ended_wall, body) FROM STDIN"
            ) as copy,
        ):
            for row in flour:
                copy.write_row(row)

    def sizes(self) -> None:
        """How much of the disk it takes."""
        sizes = self.cluster.run(
            """SELECT
                sum(pg_relation_size(c.oid)) FILTER (WHERE c.relkind = 'r' AND c.relname LIKE 'decisions%'),
                sum(pg_relation_size(c.oid)) FILTER (WHERE c.relkind = 'i' AND c.relname LIKE 'decisions%'),
                sum(pg_total_relation_size(c.oid)) FILTER (WHERE c.relname = 'flour')
            FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = 'crumbcall'""",
            database=DATABASE,
        )
        rows, index, flour = (int(str(one)) for one in sizes[0])
        batches = sum(station.batch for station in self.stations)
        self.note(
            "on disk: decisions, their keys, flour",
            f"{rows / 1e9:.2f} + {index / 1e9:.2f} + {flour / 1e9:.2f} GB",
        )
        self.note("bytes a batch, all told", f"{(rows + index + flour) / batches:,.0f}")
        self.note("bytes an event", f"{(rows + index + flour) / (batches * self.shape.events):,.0f}")

    def ingest(self, more: int) -> None:
        """Stations send as they do after weeks alone, two at a time."""
        each = max(1, more // (len(self.stations) * self.shape.events))
        waiting = [
            (station, [one for _ in range(each) for one in station.next_batch()]) for station in self.stations
        ]
        events = each * self.shape.events * len(self.stations)
        took: list[float] = []

        def send_all(mine: list[tuple[Station, list[Decided]]]) -> None:
            with connect(self.server) as link:
                for station, decided in mine:
                    head = head_of(link, self.server, self.me(station))
                    for i in range(0, len(decided), AT_ONCE):
                        began = time.perf_counter()
                        self.send(link, head, self.me(station), decided[i : i + AT_ONCE])
                        took.append(time.perf_counter() - began)

        began = time.perf_counter()
        threads = [Thread(target=send_all, args=(waiting[i::2],)) for i in range(2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        seconds = time.perf_counter() - began
        self.note(
            "ingest, every check, two at a time, server and stations on the same two cores",
            f"{events / seconds:,.0f} events a second ({events:,} in {seconds:.0f} s)",
        )
        self.note(f"a piece of {AT_ONCE} decisions, median and 95 %", spread(took))

    def send(
        self, link: "psycopg.Connection[tuple[object, ...]]", head: Head, me: Member, some: list[Decided]
    ) -> None:
        """A piece, as `send_some` sends it, without flour and without the look at what was there already."""
        link.execute("SELECT set_config('crumbcall.installation', %s, true)", (me.installation,))
        link.execute(insert(len(some)), [value for one in some for value in values_of(head.station, one)])
        link.commit()

    def lag(self) -> None:
        """From a pour that is in the journal to the server's commit: connect, claim, send, close."""
        took = []
        for station in self.stations:
            one = next(iter(station.next_batch()))
            began = time.perf_counter()
            with connect(self.server) as link:
                self.send(link, claim(link, self.server, self.me(station)), self.me(station), [one])
            took.append(time.perf_counter() - began)
        self.note(
            "lag of one decision, from the look's begin to the server's disk, beside the pause", spread(took)
        )

    def queries(self) -> None:
        """What stations and people ask."""
        folder = self.cluster.folder / "copies"
        folder.mkdir(mode=0o700)
        me = self.me(self.stations[0])
        with connect(self.server) as link:
            link.execute("SET statement_timeout = 0")
            with GroupFile(folder / "group.sqlite") as copy:
                self.timed(
                    "a new station fetches what is known of flour",
                    lambda: fetch_flour(link, self.server, me, copy),
                    1,
                )
                self.timed(
                    "a station that knows all looks for news",
                    lambda: fetch_flour(link, self.server, me, copy),
                )
            head = head_of(link, self.server, me)

            def restore() -> int:
                return write_journal(folder / "journal.sqlite", verified(link, self.server, head))[1]

            self.timed("restore of one station", restore, 1)
            for what, query in ASKED:
                times = 1 if "everything" in what else 7
                self.timed(what, lambda query=query: len(link.execute(query.encode()).fetchall()), times)  # type: ignore[misc]

    def timed(self, what: str, ask: Callable[[], int], times: int = 7) -> None:
        """A row: the median of some runs, and how much came."""
        took, rows = [], 0
        for _ in range(times):
            began = time.perf_counter()
            rows = ask()
            took.append(time.perf_counter() - began)
        self.note(what, f"{1000 * statistics.median(took):,.1f} ms, {rows:,} rows")


def spread(took: list[float]) -> str:
    """Median and 95th percentile."""
    return f"{1000 * statistics.median(took):,.1f} and {1000 * sorted(took)[int(0.95 * len(took))]:,.1f} ms"


if __name__ == "__main__":
    main()
