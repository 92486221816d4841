"""`crumbcall listen --board` with a real station at a virtual sound card: the page says that it hears."""

import http.client
import json
from pathlib import Path
from threading import Thread

import pytest

from assistant.app.application import open_application
from assistant.app.live_station import open_live_station
from assistant.app.pages.wall_page import At
from assistant.config.home import Home
from assistant.station.messages import Stop, Typed
from tests.audio.virtual_card import MICROPHONE


@pytest.mark.sound_card
@pytest.mark.usefixtures("virtual_card")
def test_a_live_station_serves_its_page(tmp_path: Path) -> None:
    told: list[str] = []
    opened = open_live_station(
        open_application(Home.find(tmp_path)),
        device=MICROPHONE,
        scale=None,
        silent=True,
        warn=told.append,
        page=At(port=0),
    )
    running = Thread(target=opened.run, args=(lambda _turn, _message: None,))
    running.start()
    try:
        host = told[-1].partition("http://")[2].strip("/")
        events = http.client.HTTPConnection(host, timeout=10)
        events.request("GET", "/events")
        stream = events.getresponse()
        opened.inbox.put(Typed("new batch fifteen hundred"))
        view: dict[str, object] = {}
        while view.get("phase") != "pouring":
            while stream.readline() != b"event: view\n":
                pass
            view = json.loads(stream.readline().removeprefix(b"data: "))
        assert (view["hearing"], view["heard"]) == ("hears", "heard: new batch fifteen hundred")
        assert len(view["buttons"]) == 3  # type: ignore[arg-type]
        stream.close()
        events.close()
    finally:
        opened.inbox.put(Stop())
        running.join(20)
    assert not running.is_alive(), "the page ends with the station"
