import socket
import threading
from collections.abc import Iterator
from pathlib import Path
from queue import Queue

import pytest

from assistant.station.loop import Loop
from assistant.station.messages import Message
from assistant.station.watchdog import Watchdog
from tests.station.stand import Stand


@pytest.fixture
def systemd(tmp_path: Path) -> Iterator[tuple[socket.socket, str]]:
    """The other end of the socket, as systemd holds it."""
    address = str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(address)
        heard.settimeout(5)
        yield heard, address


def test_systemd_is_told(systemd: tuple[socket.socket, str]) -> None:
    heard, address = systemd
    Watchdog({"NOTIFY_SOCKET": address}).notify("READY=1")
    assert heard.recv(100) == b"READY=1"


def test_an_abstract_socket_begins_with_an_at() -> None:
    # sd_notify(3): an address that begins with @ is in the abstract namespace
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind("\0crumbcall-test-notify")
        Watchdog({"NOTIFY_SOCKET": "@crumbcall-test-notify"}).notify("STOPPING=1")
        assert heard.recv(100) == b"STOPPING=1"


@pytest.mark.parametrize("environ", [{}, {"WATCHDOG_USEC": "60000000"}, {"NOTIFY_SOCKET": "/run/nobody"}])
def test_where_nobody_watches_nothing_runs(environ: dict[str, str]) -> None:
    watchdog = Watchdog(environ)
    watchdog.notify("READY=1")
    assert watchdog.workers(Queue()) == []


class _Once(threading.Event):
    def __init__(self) -> None:
        super().__init__()
        self.waits: list[float | None] = []

    def wait(self, timeout: float | None = None) -> bool:
        self.waits.append(timeout)
        return len(self.waits) > 1


def test_a_beat_goes_through_the_loop(systemd: tuple[socket.socket, str]) -> None:
    heard, address = systemd
    watchdog = Watchdog({"NOTIFY_SOCKET": address, "WATCHDOG_USEC": "60000000"})
    inbox: Queue[Message] = Queue()
    assert [worker.name for worker in watchdog.workers(inbox)] == ["watchdog"]
    stop = _Once()
    watchdog._beat(stop, inbox.put, lambda: True)
    assert stop.waits == [20.0, 20.0]  # a third of what systemd waits
    shown: list[object] = []
    loop = Loop(Stand().station, inbox, lambda turn, _: shown.append(turn), act_above=0.0)
    assert loop.turn(wait=False)
    assert heard.recv(100) == b"WATCHDOG=1"
    assert shown == []


def test_a_beat_of_a_station_in_which_something_vital_hangs_goes_no_further(
    systemd: tuple[socket.socket, str],
) -> None:
    heard, address = systemd
    watchdog = Watchdog({"NOTIFY_SOCKET": address, "WATCHDOG_USEC": "60000000"})
    inbox: Queue[Message] = Queue()
    live = iter([False, True])
    watchdog._beat(_Once(), inbox.put, lambda: next(live))
    watchdog._beat(_Once(), inbox.put, lambda: next(live))
    loop = Loop(Stand().station, inbox, lambda *_: None, act_above=0.0)
    assert loop.turn(wait=False)
    watchdog.notify("STOPPING=1")
    assert loop.turn(wait=False)
    assert [heard.recv(100), heard.recv(100)] == [b"STOPPING=1", b"WATCHDOG=1"]
