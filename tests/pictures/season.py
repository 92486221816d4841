"""A month of a small hotel kitchen with invented flour lots, played through the real station.

The batch of the pictures is the last one. Everything a picture shows comes from here, so that conversation,
page, sheet and figure are of the same day.
"""

import io
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, redirect_stdout
from datetime import UTC, datetime
from pathlib import Path
from queue import Queue

from assistant.app.application import Application, open_application
from assistant.board.board_words import BoardWords
from assistant.board.feed import Feed
from assistant.board.glance import Glance, LastWords
from assistant.board.serving import BoardServer
from assistant.board.wall.wall_view import WallView
from assistant.board.web import board_templates, create_app
from assistant.cli.output import show_turn
from assistant.cli.type import jump_s
from assistant.clock import ScriptedClock
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.home import Home
from assistant.dough.flour.staging import first_water_pct
from assistant.dough.flour_memory import FlourMemory
from assistant.sheets import SheetWords, build_sheet, sheet_text
from assistant.sheets.charts.figure import Figure
from assistant.sheets.charts.lot_figure import lot_figure
from assistant.station.alive.presence import Presence
from assistant.station.forecasts import records
from assistant.station.loop import Loop
from assistant.station.messages import Message
from assistant.station.station import Turn

BEGIN = datetime(2026, 2, 2, 9, 0, tzinfo=UTC)

LOT = "12"

BATCHES = (
    # lot, flour (g), first pour (g), top-ups (g) after a dry crumb, then hours to the next batch
    ("7", 1500, 445, (10,), 24),
    ("7", 2000, 590, (15, 10), 24),
    (LOT, 1500, 455, (12, 8), 48),
    (LOT, 1500, 462, (10,), 72),
    (LOT, 2000, 615, (15,), 24),
    (LOT, 1500, 462, (8, 8), 24),
    ("7", 1500, 450, (), 24),
    (LOT, 1800, 562, (12,), 48),
    (LOT, 1500, 467, (8,), 72),
    (LOT, 1500, 465, (12,), 24),
    (LOT, 2000, 622, (10, 10), 48),
    (LOT, 1500, 470, (8,), 100),
)

LOTS_TOML = """\
[7]
flour = "semolina"
supplier = "M-02"

[12]
flour = "semolina"
supplier = "M-04"
moisture_pct = 13.8
"""

UNTIL_THE_PAGE = """\
lot twelve
+5s
target thirty one point five
+6s
new batch fifteen hundred
+40s
water four sixty
+15s
mix
+12s
sauce timer twelve minutes
+34s
"""
"""The beginning of the last batch, up to the moment that the page on the wall is shown at."""

UNTIL_READY = """\
+1m14s
got it
+12s
crumb dry
+20s
water fifty
+5s
no
+6s
water fifteen
+8s
mix
+1m
got it
+10s
crumb ready
"""

UNTIL_CLOSED = """\
+6s
new die rigatoni
+10s
rest five minutes
+5m
got it
+15s
extruding
+2m
got it
+1m
die warm
+5s
scrap forty
+6m
tray done
+7m
tray done
+30s
portions fourteen
+20s
close batch
"""


class Season:
    """A home folder with a month of batches, and the station that wrote them."""

    def __init__(self, home: Home) -> None:
        """Play every batch but the last."""
        self.home = home
        home.make()
        (home.config / LOTS_FILE).write_text(LOTS_TOML, encoding="utf-8")
        self.app: Application = open_application(home)
        self._words = SheetWords.of(home, "en")
        self.clock = ScriptedClock(wall=BEGIN.timestamp())
        self.station, self.journal, _ = self.app.open_station(self.clock)
        self.presence = Presence(self.app.heartbeat(self.clock))
        for lot, flour, pour, top_ups, hours in BATCHES:
            self.play(_batch(lot, flour, pour, top_ups))
            self.play([f"+{hours}h"])
        self._begun = self.clock.monotonic()

    def conversation(self, lines: str) -> str:
        """What is said from here on; times count from the beginning of the last batch."""
        return self.play(lines.splitlines(), self._begun)

    def play(self, lines: Iterable[str], start: float = 0.0) -> str:
        """What the station answers to these lines, printed as `crumbcall type --clock scripted` does."""

        def show(turn: Turn, message: Message | None) -> None:
            self.presence.follow(turn, message, self.station.state)
            show_turn(turn, start, as_json=False)

        loop = Loop(self.station, Queue(), show)
        with redirect_stdout(io.StringIO()) as printed:
            for line in lines:
                if line.startswith("+"):
                    loop.pass_time(self.clock, jump_s(line))
                else:
                    show(self.station.hear(line, source="voice"), None)
        return printed.getvalue()

    def lot_figure(self) -> Figure:
        """What `crumbcall lots 12 --figure` draws, on the day of the lot's newest batch."""
        batches = self.journal.lot_batches(8, also=LOT)
        memory = FlourMemory(records(batches, self.app.stock), self.app.rules.target_pct)
        record = memory.records[LOT]
        forecast = memory.forecast(LOT, record.seen[-1].day)
        closed = {batch.number: batch.hydration_pct for batch in batches if batch.lot == LOT}
        rules = self.app.rules
        first = first_water_pct(forecast, rules.target_pct, rules.first_pour_share)
        return lot_figure(record, forecast, first, self._words, closed)

    def sheet(self) -> str:
        """What `crumbcall sheet` prints of the last batch, in the kitchen's time of day: UTC here."""
        return sheet_text(build_sheet(self.journal.batch(self.station.state.last_batch)), self._words, UTC)

    def board(self) -> BoardServer:
        """The page on the wall as it is now, to be served at a free port of this machine."""
        words = BoardWords.of(self.home, "en")
        view = WallView(self.app.rules, self.app.replies, words, lambda: self.app.known(self.clock))
        feed = Feed(self._look, view)
        templates = board_templates(words)
        page = create_app(templates=templates, words=words, feed=feed, now=self.clock.monotonic)
        return BoardServer(page, feed, "127.0.0.1", 0)

    def _look(self) -> Glance:
        said = self.presence.words
        last = LastWords(said.heard, said.understood, said.said, said.question)
        return Glance(self.station.state, self.clock.monotonic(), self.clock.wall(), last=last, zone=UTC)


@contextmanager
def season(folder: Path) -> Iterator[Season]:
    """A month in a new home folder; its journal is closed at the end."""
    played = Season(Home.find(folder))
    try:
        yield played
    finally:
        played.journal.close()


def _batch(lot: str, flour: int, pour: int, top_ups: Iterable[int]) -> list[str]:
    """What a cook says in a plain batch: top-ups while the crumb is dry, then ready."""
    lines = [f"lot {lot}", f"new batch {flour}", f"water {pour}", "+20s", "mix", "+2m", "got it"]
    for grams in top_ups:
        lines += ["+10s", "crumb dry", "+10s", f"water {grams}", "+10s", "mix 30 s", "+40s", "got it"]
    return [*lines, "+10s", "crumb ready", "+5m", "close batch", "clean down", *["done"] * 7]
