"""The page on the wall, put together: in the station's own process, or beside it."""

from collections.abc import Callable
from dataclasses import dataclass
from queue import Queue
from typing import Any, get_args

from assistant.app.application import Application
from assistant.app.pages.board_pages import page_sources
from assistant.batch.record.commands import Command
from assistant.batch.record.rules import Known
from assistant.batch.record.state import State
from assistant.board.board_words import BoardWords
from assistant.board.feed import Feed
from assistant.board.glance import Glance, Hearing, LastWords
from assistant.board.pages import page_routes
from assistant.board.pairing import Pairing
from assistant.board.serving import BoardServer, check_extra
from assistant.board.wall.buttons import buttons, pressed
from assistant.board.wall.wall_view import WallView
from assistant.board.watching import JournalWatch
from assistant.board.web import Touch, board_templates, create_app
from assistant.config.day_plan import FILE as PLAN_FILE
from assistant.config.day_plan import WatchedPlan
from assistant.errors import JournalError
from assistant.journal.codec import read_state
from assistant.ports import Clock, Stamp
from assistant.station.alive.heartbeat import Beat
from assistant.station.alive.presence import Presence
from assistant.station.messages import EARS, Message, Touched
from assistant.station.practice import Practised
from assistant.station.station import Station

PORT = 8036
HOST = "127.0.0.1"
_PAIRED = "screens.json"


@dataclass(frozen=True, slots=True)
class At:
    """Where the page is to be served."""

    host: str = HOST
    port: int = PORT


def live_page(
    app: Application, clock: Clock, station: Station, presence: Presence, inbox: "Queue[Message]", at: At
) -> tuple[BoardServer, Feed]:
    """The page of a station in this process, with buttons. Raises SettingsError."""
    check_extra()
    words = BoardWords.of(app.home, app.settings.station.language)
    view = WallView(app.rules, app.replies, words, _known(app, clock), touch=True)

    def look() -> Glance:
        said = presence.words
        return Glance(
            state=station.state,
            now=clock.monotonic(),
            wall=clock.wall(),
            wall_trusted=clock.wall_trusted(),
            hearing=presence.ear,
            last=LastWords(said.heard, said.understood, said.said, said.question),
            failing=station.failing,
            wrong=presence.wrong,
            practised=presence.practised,
        )

    def meant(key: str) -> Callable[[State], Command | None]:
        return lambda state: pressed(key, state, clock.monotonic(), app.rules)

    def press(key: str) -> bool:
        offered = buttons(station.state, clock.monotonic(), app.rules)
        if all(one.key != key for one in offered):
            return False
        inbox.put(Touched(meant(key)))
        return True

    pairing = Pairing(clock.monotonic, app.home.data / _PAIRED)

    def code() -> dict[str, str]:
        return {"code": words.text("pairing.shown", code=pairing.code) if pairing.code else ""}

    feed = Feed(look, view, extra=code)
    return _served(app, clock, at, words, feed, Touch(press, pairing)), feed


def page_beside(app: Application, clock: Clock, at: At) -> BoardServer:
    """The page of a station in another process: it reads journal and heartbeat. Raises SettingsError."""
    check_extra()
    words = BoardWords.of(app.home, app.settings.station.language)
    feed = Feed(
        glance_beside(app, clock), WallView(app.rules, app.replies, words, _known(app, clock), touch=False)
    )
    return _served(app, clock, at, words, feed)


def _served(
    app: Application, clock: Clock, at: At, words: BoardWords, feed: Feed, touch: Touch | None = None
) -> BoardServer:
    """The page and the pages behind it, with buttons where there is `touch`."""
    templates = board_templates(words)
    page = create_app(
        page_routes(templates, page_sources(app, clock), app.home.kept_folder),
        templates=templates,
        words=words,
        feed=feed,
        now=clock.monotonic,
        touch=touch,
    )
    return BoardServer(page, feed, at.host, at.port)


def glance_beside(app: Application, clock: Clock) -> Callable[[], Glance]:
    """Looks at a station in another process; what it gives may raise JournalError."""
    heartbeat, watch = app.heartbeat(clock), JournalWatch(app.home.journal_file)
    began = clock.wall()

    def look() -> Glance:
        beat, lives = heartbeat.read(), heartbeat.lives()
        try:
            state, last = watch()
        except JournalError:
            if app.home.journal_file.exists():
                raise
            state, last = State(), None  # a fresh home: the station has nothing to write yet
        latest = heartbeat.latest(last)
        now, gone_at, age_known = clock.monotonic(), None, True
        if not lives:
            gone_at, age_known = _went(beat if last is None else latest, began, clock)
            now = latest.monotonic if latest is not None else now
        return Glance(
            state=state,
            now=now,
            wall=clock.wall(),
            wall_trusted=clock.wall_trusted(),
            hearing=_hearing(beat),
            last=_last(beat),
            gone_at=gone_at,
            age_known=age_known,
            **_of_a_running_station(beat if lives else None),
        )

    return look


def _went(last: Beat | Stamp | None, began: float, clock: Clock) -> tuple[float, bool]:
    """When a station gave its last sign, as the clock of now has it (s since 1970); and whether it is known.

    `began`: when it was first looked for it, which counts where there never was one.
    """
    if last is None:
        return began, True
    since = clock.monotonic() - last.monotonic
    if last.boot == clock.boot_id() and since >= 0:
        return clock.wall() - since, True
    return last.wall, last.wall_trusted and clock.wall_trusted()


def _of_a_running_station(beat: Beat | None) -> dict[str, Any]:
    """What only a station that runs has: what of it does not work, and its practice."""
    if beat is None:
        return {}
    return {
        "failing": beat.failing,
        "wrong": tuple(one for one in beat.gone.split(",") if one and one not in EARS),
        "practised": Practised(beat.prompt, read_state(beat.practice)) if beat.practising else None,
    }


def _hearing(beat: Beat | None) -> Hearing:
    return next((one for one in get_args(Hearing) if beat is not None and one == beat.hearing), "hears")


def _last(beat: Beat | None) -> LastWords:
    return LastWords() if beat is None else LastWords(beat.heard, beat.understood, beat.said, beat.question)


def _known(app: Application, clock: Clock) -> Callable[[], Known]:
    """What the kitchen knows, with the plan as it is at each call."""
    known, plan = app.known(clock), WatchedPlan(app.home.data / PLAN_FILE, clock)
    return lambda: plan(known)
