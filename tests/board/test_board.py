"""The page on the wall: its values from the state, and the server over a real socket on this machine."""

import json
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.board.server import BoardServer, read_view
from assistant.board.view import board_view
from assistant.clock import ScriptedClock
from assistant.errors import JournalError, SettingsError
from assistant.journal.store import SqliteJournal
from assistant.station.station import Station
from tests.station.stand import Stand, grammar, replies


def _view(stand: Stand, *, current: bool = True) -> dict[str, object]:
    return board_view(stand.station.state, stand.station.now, BatchRules(), replies(), current=current)


def test_nothing_is_open() -> None:
    view = board_view(State(), 0.0, BatchRules(), replies(), current=True)
    assert view == {
        "running": True,
        "listening": True,
        "asking": False,
        "batch": None,
        "timers": [],
        "next": "Say new batch and the flour.",
    }


def test_a_batch_its_marks_and_the_next_step() -> None:
    stand = Stand()
    for sentence in (
        "lot four seven one",
        "new batch fifteen hundred",
        "water three thirty",
        "mix",
        "timer two ten minutes",
    ):
        stand.say(sentence)
    stand.clock.move(20)
    view = _view(stand)
    batch = view["batch"]
    assert isinstance(batch, dict)
    assert (batch["number"], batch["lot"], batch["phase"]) == (1, "471", "mixing")
    assert (batch["water_g"], batch["left_g"], batch["over_g"], batch["over_high"]) == (330, 135, 0, False)
    # 33 % of 1,500 g is 495 g at high; low is 450 g and the target 465 g of it.
    assert batch["share"] == pytest.approx(330 / 495)
    assert batch["low_share"] == pytest.approx(450 / 495)
    assert batch["target_share"] == pytest.approx(465 / 495)
    assert view["timers"] == [
        {"name": "mix", "remaining_s": 100, "ringing": False, "certain": True},
        {"name": "timer 2", "remaining_s": 580, "ringing": False, "certain": True},
    ]
    assert "squeeze" in str(view["next"])


def test_past_high_the_share_stays_whole_and_says_so() -> None:
    stand = Stand()
    for sentence in ("new batch fifteen hundred", "water five hundred", "yes"):
        stand.say(sentence)
    batch = _view(stand)["batch"]
    assert isinstance(batch, dict)
    assert (batch["share"], batch["left_g"], batch["over_g"], batch["over_high"]) == (1.0, 0, 35, True)


def test_an_open_question_is_shown() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("water six hundred")
    assert _view(stand)["asking"] is True


def test_after_a_restart_without_the_station_times_are_not_shown() -> None:
    stand = Stand()
    stand.say("timer two ten minutes")
    view = _view(stand, current=False)
    assert (view["running"], view["timers"]) == (False, [])


@contextmanager
def _served(journal_file: Path, clock: ScriptedClock) -> Iterator[str]:
    server = BoardServer("127.0.0.1", 0, lambda: read_view(journal_file, clock, BatchRules(), replies()))
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join(timeout=5)
        server.server_close()


def _get(address: str) -> tuple[int, str, bytes]:
    try:
        with urllib.request.urlopen(address, timeout=5) as answer:
            return answer.status, answer.headers["Content-Type"], answer.read()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.headers["Content-Type"], error.read()


def test_the_page_follows_the_station_that_writes_the_journal(tmp_path: Path) -> None:
    clock, file = ScriptedClock(), tmp_path / "journal.sqlite"
    with _served(file, clock) as address:
        status, _, body = _get(f"{address}/state.json")
        assert status == 503
        assert "there is no journal yet" in json.loads(body)["error"]

        journal = SqliteJournal.open(file, clock)
        station = Station(journal, clock, BatchRules(), grammar(), replies())
        station.hear("new batch fifteen hundred")
        station.hear("water one fifty")
        status, kind, body = _get(f"{address}/state.json")
        assert (status, kind) == (200, "application/json")
        assert json.loads(body)["batch"]["left_g"] == 315
        station.hear("water one sixty")
        assert json.loads(_get(f"{address}/state.json")[2])["batch"]["left_g"] == 155
        journal.close()

        status, kind, body = _get(f"{address}/")
        assert (status, kind) == (200, "text/html; charset=utf-8")
        assert b"http" not in body.replace(b"http-equiv", b""), "the page wants nothing from elsewhere"
        assert _get(f"{address}/../settings.toml")[0] == 404


def test_a_port_that_is_taken_is_one_clear_line() -> None:
    with BoardServer("127.0.0.1", 0, dict) as first:
        taken = first.server_port
        with pytest.raises(
            SettingsError, match=rf"^The board can't be served at 127.0.0.1 port {taken} \(.*--host.$"
        ):
            BoardServer("127.0.0.1", taken, dict)


def test_no_journal_is_an_error_of_ours(tmp_path: Path) -> None:
    with pytest.raises(JournalError):
        read_view(tmp_path / "none.sqlite", ScriptedClock(), BatchRules(), replies())
