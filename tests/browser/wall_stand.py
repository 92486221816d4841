"""A station with its page in this process, fed as `crumbcall type` feeds it, at a clock that tests move."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from assistant.batch.record.rules import BatchRules, Known
from assistant.board.board_words import NAV, BoardWords
from assistant.board.feed import Feed
from assistant.board.glance import Glance, LastWords
from assistant.board.pairing import Pairing
from assistant.board.serving import BoardServer
from assistant.board.wall.buttons import buttons, pressed
from assistant.board.wall.wall_view import WallView
from assistant.board.web import Touch, board_templates, create_app
from assistant.clock import ScriptedClock
from assistant.config.language.walk_throughs import load_walks
from assistant.config.pantry import Pantry
from assistant.config.recipes import Recipes
from assistant.config.resources import grammar_folder
from assistant.nlg.names import FILE as NAMES_FILE
from assistant.nlg.names import read_names
from assistant.station.alive.heartbeat import Heartbeat
from assistant.station.alive.presence import Presence
from assistant.station.loop import Loop
from assistant.station.messages import Touched, Typed
from tests.nlg.off_first import replies_of
from tests.station.test_practice import PracticeStand

ZONE = ZoneInfo("Europe/Rome")
KITCHEN = Known(
    walks=load_walks([grammar_folder() / "walks.toml"]), recipes=Recipes.load(Pantry.load()).plans
)
"""What ships: walk-throughs and recipes."""


@cache
def words(language: str = "en") -> BoardWords:
    """The words of the pages that ship, read once."""
    names = read_names([grammar_folder(language) / NAMES_FILE])
    return BoardWords.load(grammar_folder(language) / "board.toml", names=names)


def _empty(_request: Request) -> Response:
    """One of the other pages, which only have to be there."""
    return Response()


class WallStand:
    """Station, presence and page. `touch`: whether the page has buttons; `port` 0: any free one."""

    def __init__(
        self,
        folder: Path,
        *,
        touch: bool = False,
        port: int = 0,
        known: Known = KITCHEN,
        language: str = "en",
    ) -> None:
        self.stand = PracticeStand()
        self.clock: ScriptedClock = self.stand.clock
        self.busy = False
        self.presence = Presence(
            Heartbeat(folder / "heartbeat.json", self.clock),
            busy=lambda: self.busy,
            gone=lambda: self.parts_gone,
            failing=lambda: self.failing,
            practised=lambda: self.stand.practice.practised,
        )
        self.loop = Loop(
            self.stand.station, self.stand.inbox, self._follow, left_alone=self.presence.left_alone
        )
        self.known = known
        self.stand.station._known = known
        self.gone_at: float | None = None
        self.failing = False
        self.parts_gone: tuple[str, ...] = ()
        shown = words(language)
        self.pairing = Pairing(self.clock.monotonic)
        self.feed = Feed(
            self.look,
            WallView(BatchRules(), replies_of(language), shown, lambda: self.known, touch=touch),
            extra=lambda: {"code": self.pairing.code},
        )
        self.presence.on_change(self.feed.changed)
        self.touch = Touch(self._press, self.pairing) if touch else None
        self.app = create_app(
            [Route(f"/{name}", _empty, name=name) for name in NAV if name != "wall"],
            templates=board_templates(shown),
            words=shown,
            feed=self.feed,
            now=self.clock.monotonic,
            touch=self.touch,
        )
        self.server = BoardServer(self.app, self.feed, "127.0.0.1", port)
        self.pressed = threading.Event()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self.server.run, args=(self._stop,))

    @property
    def address(self) -> str:
        """Where the page is."""
        return self.server.address

    def look(self) -> Glance:
        """The station of now."""
        said = self.presence.words
        return Glance(
            self.stand.station.state,
            self.clock.monotonic(),
            self.clock.wall(),
            hearing=self.presence.ear,
            last=LastWords(said.heard, said.understood, said.said, said.question),
            wall_trusted=self.clock.trusted,
            gone_at=self.gone_at,
            failing=self.presence.failing,
            wrong=self.presence.wrong,
            practised=self.presence.practised,
            zone=ZONE,
        )

    def say(self, *lines: str) -> None:
        """What `crumbcall type` takes: sentences, and +90 for seconds that pass."""
        for line in lines:
            if line.startswith("+"):
                self.loop.pass_time(self.clock, float(line))
            else:
                self.stand.inbox.put(Typed(line))
                self.loop.take_waiting()
        self.feed.changed()

    def take_presses(self) -> None:
        """Do what was pressed on the page."""
        self.loop.take_waiting()
        self.feed.changed()

    def _follow(self, turn: object, message: object) -> None:
        self.presence.follow(turn, message, self.stand.station.state)  # type: ignore[arg-type]

    def _press(self, key: str) -> bool:
        state, now, rules = self.stand.station.state, self.clock.monotonic(), BatchRules()
        if all(one.key != key for one in buttons(state, now, rules)):
            return False
        self.stand.inbox.put(Touched(lambda state: pressed(key, state, self.clock.monotonic(), rules)))
        self.pressed.set()
        return True

    def start(self) -> "WallStand":
        """Serve."""
        self._thread.start()
        return self

    def stop(self) -> None:
        """End the server and all its streams."""
        self._stop.set()
        self._thread.join(10)


@contextmanager
def wall_stand(
    folder: Path, *, touch: bool = False, port: int = 0, known: Known = KITCHEN, language: str = "en"
) -> Iterator[WallStand]:
    """A page that is served as long as the context lasts."""
    stand = WallStand(folder, touch=touch, port=port, known=known, language=language).start()
    try:
        yield stand
    finally:
        stand.stop()
