"""The page in the station's own process, as `crumbcall listen --board` puts it together."""

import http.client
import json
from collections.abc import Iterator
from pathlib import Path
from queue import Queue
from threading import Event, Thread

import pytest

from assistant.app.application import open_application
from assistant.app.pages.wall_page import At, live_page
from assistant.board.serving import BoardServer
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.station.alive.presence import Presence
from assistant.station.loop import Loop
from assistant.station.messages import Message, Typed
from assistant.station.station import Station


class Live:
    """A station with its page, at a clock that stands still."""

    def __init__(self, folder: Path) -> None:
        app, clock = open_application(Home.find(folder)), ScriptedClock()
        self.station: Station
        self.station, self.journal, _ = app.open_station(clock)
        self.inbox: Queue[Message] = Queue()
        presence = Presence(app.heartbeat(clock))
        self.server: BoardServer
        self.server, feed = live_page(app, clock, self.station, presence, self.inbox, At(port=0))
        presence.on_change(feed.changed)
        self.loop = Loop(
            self.station, self.inbox, lambda turn, message: presence.follow(turn, message, self.station.state)
        )

    def say(self, text: str) -> None:
        self.inbox.put(Typed(text))
        self.loop.take_waiting()


@pytest.fixture
def live(tmp_path: Path) -> Iterator[Live]:
    """A page that is served."""
    made, stop = Live(tmp_path), Event()
    thread = Thread(target=made.server.run, args=(stop,))
    thread.start()
    yield made
    stop.set()
    thread.join(10)
    made.journal.close()


def test_it_shows_what_is_said_and_takes_what_is_pressed(live: Live) -> None:
    events = http.client.HTTPConnection("127.0.0.1", live.server.port, timeout=5)
    events.request("GET", "/events")
    stream = events.getresponse()
    assert stream.headers["content-type"] == "text/event-stream; charset=utf-8"

    def view() -> dict[str, object]:
        """The next view; beats and what else is sent are passed over."""
        while stream.readline() != b"event: view\n":
            pass
        found: dict[str, object] = json.loads(stream.readline().removeprefix(b"data: "))
        return found

    assert view()["buttons"] == []
    live.say("new batch fifteen hundred")
    shown = view()
    buttons = shown["buttons"]
    assert isinstance(buttons, list)
    assert [one["label"] for one in buttons] == ["330 g in", "mix", "undo"]

    host = f"127.0.0.1:{live.server.port}"
    asking = http.client.HTTPConnection(host, timeout=5)
    asking.request("GET", "/")
    page = asking.getresponse().read().decode()
    token = page.partition('data-token="')[2].partition('"')[0]
    asking.request(
        "POST",
        "/press",
        json.dumps({"key": buttons[0]["key"]}),
        {"Origin": f"http://{host}", "X-Crumbcall-Token": token},
    )
    assert asking.getresponse().status == 204
    live.loop.take_waiting()
    assert "330 g in" in str(view()["account"])
    batch = live.station.state.batch
    assert batch is not None
    assert batch.entries[-1].source == "screen"
    asking.close()
    stream.close()
    events.close()
