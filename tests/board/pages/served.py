"""A kitchen with some batches, and its pages as a browser gets them."""

import threading
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC
from itertools import count
from pathlib import Path
from queue import Queue

from starlette.applications import Starlette
from starlette.testclient import TestClient

from assistant.app.application import Application, open_application
from assistant.app.pages.board_pages import page_sources
from assistant.app.pages.wall_page import glance_beside
from assistant.batch.record.events import LotNamed
from assistant.board.board_words import BoardWords
from assistant.board.feed import Feed
from assistant.board.pages import page_routes
from assistant.board.pages.sources import PageSources
from assistant.board.serving import BoardServer
from assistant.board.wall.wall_view import WallView
from assistant.board.web import board_templates, create_app
from assistant.cli.type import jump_s
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.journal.held import HeldJournal
from assistant.station.loop import Loop
from assistant.station.station import Station

TRAP = "<script>alert(1)</script>"
"""What a lot might be called."""
A_BATCH = """\
lot 12
new batch fifteen hundred
+30s
water four fifty
mix
+2m
got it
crumb dry
+20s
water fifteen
mix one minute
+1m
got it
+5s
crumb ready
new die rigatoni
rest ninety seconds
+90s
got it
extruding
+2m
scrap forty
+5m
tray done
portions fourteen
close batch
""".splitlines()


@dataclass
class Kitchen:
    """A home folder and the station that writes its journal."""

    app: Application
    clock: ScriptedClock
    station: Station
    journal: HeldJournal

    def play(self, lines: Iterable[str]) -> None:
        """Say these lines at a keyboard; `+2m` lets time pass."""
        loop = Loop(self.station, Queue(), lambda *_: None)
        for line in filter(None, lines):
            if line.startswith("+"):
                loop.pass_time(self.clock, jump_s(line))
            else:
                self.station.hear(line, source="keyboard")

    def call_the_lot(self, lot: str) -> None:
        """Name the lot of the open batch in a way that no sentence can."""
        self.journal.append([LotNamed(at=self.clock.monotonic(), lot=lot)])

    @property
    def sources(self) -> PageSources:
        """What the pages are made from, in UTC."""
        return replace(page_sources(self.app, self.clock), zone=UTC)

    def browser(self, scripts: Path) -> TestClient:
        """The pages, without a socket."""
        return TestClient(self._pages(scripts)[0], base_url="http://127.0.0.1")

    @contextmanager
    def served(self, scripts: Path) -> Iterator[str]:
        """The pages at a free port of this machine: their address."""
        server, stop = BoardServer(*self._pages(scripts), "127.0.0.1", 0), threading.Event()
        thread = threading.Thread(target=server.run, args=(stop,))
        thread.start()
        try:
            yield server.address.rstrip("/")
        finally:
            stop.set()
            thread.join()

    def _pages(self, scripts: Path) -> tuple[Starlette, Feed]:
        words = BoardWords.of(self.app.home, self.app.settings.station.language)
        templates, known = board_templates(words), self.app.known(self.clock)
        view = WallView(self.app.rules, self.app.replies, words, lambda: known, touch=False)
        feed = Feed(glance_beside(self.app, self.clock), view)
        # Requests are counted by a time of their own: the kitchen's clock stands still between two lines.
        time = count(step=1.0)
        app = create_app(
            page_routes(templates, self.sources, scripts),
            templates=templates,
            words=words,
            feed=feed,
            now=lambda: next(time),
        )
        return app, feed


@contextmanager
def kitchen(home: Path, *, settings: str = "") -> Iterator[Kitchen]:
    """A kitchen in this folder, with this settings file."""
    found = Home.find(home)
    found.make()
    found.settings_file.write_text(settings, encoding="utf-8")
    app, clock = open_application(found), ScriptedClock()
    station, journal, _ = app.open_station(clock)
    with closing(journal):
        yield Kitchen(app, clock, station, journal)
