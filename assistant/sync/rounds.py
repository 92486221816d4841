"""One look at the group's server, and one after the other for as long as the station runs.

Everything that can fail here fails alone: the station neither waits for it nor hears of it.
"""

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import msgspec

from assistant.errors import CrumbcallError, SyncError
from assistant.journal.decision_rows import DecisionReader
from assistant.sync.fetching import fetch_flour
from assistant.sync.group_file import GroupFile, Kept
from assistant.sync.link import Server, connect
from assistant.sync.member import Member
from assistant.sync.sending import check_history, check_version, claim, send_some
from assistant.sync.shared_documents import newest

LONGEST_S = 900.0
"""The longest pause between two looks at a server that can't be reached (s)."""
GROWS_AT_MOST = 10
"""Doublings of the pause."""


@dataclass(frozen=True, slots=True)
class Look:
    """What one look at the server did."""

    sent: int
    """Decisions that were sent."""
    last: int
    """The last decision that the server has."""
    came: int
    """Batches of other stations that came."""
    newer: tuple[str, ...]
    """Files of the group that are newer there."""


@dataclass(frozen=True, slots=True)
class Group:
    """A station and its group: all that a look needs."""

    server: Server
    me: Member
    journal: Path
    copy: Path
    """File of the copy of what the others know."""


def look(group: Group, go_on: Callable[[], bool] = lambda: True) -> Look:
    """Send what was recorded, fetch what others know. Raises SyncError or JournalError, one line.

    `go_on`: asked between two pieces; where it says no, the rest waits for the next look.
    """
    with GroupFile(group.copy) as here, connect(group.server) as link:
        check_version(link, group.server)
        head = claim(link, group.server, group.me)
        start = head.decision
        if group.journal.is_file():
            with DecisionReader.open(group.journal) as journal:
                check_history(journal, head, group.me)
                while go_on():
                    after = send_some(link, group.server, group.me, head, journal)
                    if after == head:
                        break
                    head = after
        came = fetch_flour(link, group.server, group.me, here)
        taken = here.documents()
        newer = tuple(
            one.name for one in newest(link, group.server) if taken.get(one.name, (0, ""))[0] < one.version
        )
    return Look(head.decision - start, head.decision, came, newer)


def pause_s(failures: int, every_s: float, stagger: float) -> float:
    """How long to wait after so many failures in a row (s): longer and longer, and not all at once."""
    grown = every_s * float(2 ** min(failures, GROWS_AT_MOST))
    return max(every_s, min(grown, LONGEST_S)) * (1 + 0.25 * stagger)


class Looking:
    """Looks at the server again and again; `run` is a worker's.

    `group` makes what a look needs, anew each time, so that what was mended counts; `wall`: the time (s
    since 1970); `tell` gets each line that says something new.
    """

    def __init__(
        self,
        group: Callable[[], Group],
        every_s: float,
        wall: Callable[[], float],
        tell: Callable[[str], None] = lambda _: None,
        once: Callable[[Group, Callable[[], bool]], Look] = look,
    ) -> None:
        self._group = group
        self._every_s = every_s
        self._wall = wall
        self._tell = tell
        self._once = once
        self._failures = 0
        self._told = ""

    def run(self, stop: threading.Event) -> None:
        """Look until `stop` is set."""
        wait = 0.0
        while not stop.wait(wait):
            wait = self.step(stop)

    def step(self, stop: threading.Event) -> float:
        """One look; how long to wait for the next (s)."""
        stagger = 0.0
        try:
            group = self._group()
            stagger = group.me.stagger
            done = self._once(group, lambda: not stop.is_set())
        except CrumbcallError as error:
            self._failures += 1
            self._say(str(error))
            self._keep(str(error), None)
        else:
            self._failures = 0
            self._say("")
            self._keep("", done)
        return pause_s(self._failures, self._every_s, stagger)

    def _say(self, line: str) -> None:
        """Each line once, until another takes its place."""
        if line and line != self._told:
            self._tell(line)
        elif not line and self._told:
            self._tell("The group's server is there again.")
        self._told = line

    def _keep(self, problem: str, done: Look | None) -> None:
        with suppress(SyncError), GroupFile(self._group().copy) as here:
            before = here.status()
            status = msgspec.structs.replace(before, problem=problem)
            if done is not None:
                status = Kept(self._wall(), done.last, "", done.newer)
            here.keep(status)
