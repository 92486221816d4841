"""The page on the wall: its values from the state, and the server over a real socket on this machine."""

import json
import threading
import tomllib
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import get_args

import pytest

from assistant.batch.record.commands import Verdict
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import State, Timer
from assistant.board.board_words import BoardWords
from assistant.board.server import BoardServer, page_text, read_view
from assistant.board.view import board_view
from assistant.clock import ScriptedClock
from assistant.config.resources import grammar_folder
from assistant.dough.shift_plan import PlannedBatch
from assistant.errors import GrammarError, JournalError, SettingsError
from assistant.journal.store import SqliteJournal
from assistant.station.station import Station
from tests.station.stand import Stand, grammar, replies


@cache
def words() -> BoardWords:
    """The English words of the page, read once."""
    return BoardWords.load(grammar_folder() / "board.toml")


def _view(stand: Stand, *, current: bool = True, known: Known = NOTHING) -> dict[str, object]:
    state, now = stand.station.state, stand.station.now
    return board_view(state, now, BatchRules(), replies(), words(), known, current=current)


def test_nothing_is_open() -> None:
    view = board_view(State(), 0.0, BatchRules(), replies(), words(), NOTHING, current=True)
    assert view == {
        "running": True,
        "listening": True,
        "asking": False,
        "title": "Crumbcall",
        "status": "listening",
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
        {"name": "mix", "time": "1:40", "remaining_s": 100, "ringing": False, "certain": True},
        {"name": "timer 2", "time": "9:40", "remaining_s": 580, "ringing": False, "certain": True},
        # Four hours from the water: US Food Code 3-501.14(B) and 4-602.11.
        {"name": "dough at 5 °C", "time": "239:40", "remaining_s": 14380, "ringing": False, "certain": True},
        {"name": "clean down", "time": "239:40", "remaining_s": 14380, "ringing": False, "certain": True},
    ]
    assert "squeeze" in str(view["next"])
    assert (view["title"], view["status"], batch["unit"]) == ("Batch 1, lot 471", "listening", "g left")
    assert batch["account"] == "330 g in 1500 g of flour, 22 % (target 31 %), mixing"


def test_past_high_the_share_stays_whole_and_says_so() -> None:
    stand = Stand()
    for sentence in ("new batch fifteen hundred", "water five hundred", "yes"):
        stand.say(sentence)
    batch = _view(stand)["batch"]
    assert isinstance(batch, dict)
    assert (batch["share"], batch["left_g"], batch["over_g"], batch["over_high"]) == (1.0, 0, 35, True)
    assert batch["unit"] == "g past target, over high"


def test_an_open_question_is_shown() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("water six hundred")
    view = _view(stand)
    assert (view["asking"], view["status"]) == (True, "a question is open: yes or no")


def test_after_a_restart_without_the_station_times_are_not_shown() -> None:
    stand = Stand()
    stand.say("timer two ten minutes")
    view = _view(stand, current=False)
    assert (view["running"], view["timers"], view["status"]) == (False, [], "station is not running")


PLANNED = Known(plan=(PlannedBatch("day/1", "rigatoni", None, 1500.0, 465.0, 14, "16:30"),))


def test_the_page_shows_the_next_step_that_the_voice_says() -> None:
    stand = Stand()
    stand.station = Station(stand.journal, stand.clock, BatchRules(), grammar(), replies(), known=PLANNED)
    for sentence in ("", "new batch", "water three thirty", "mix", "close batch", "yes", "opening check"):
        if sentence:
            stand.say(sentence)
        shown = _view(stand, known=PLANNED)["next"]
        assert shown == stand.say("what next")
        assert shown
    assert (
        _view(Stand(), known=PLANNED)["next"] == "16:30, rigatoni: fifteen hundred of flour. Say new batch."
    )


def test_while_nothing_is_heard_the_next_step_is_still_shown() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    before = _view(stand)["next"]
    stand.say("ears off")
    view = _view(stand)
    assert (view["listening"], view["status"]) == (False, "not listening")
    assert view["next"] == before == "Pour three thirty, then mix."


def test_a_timer_says_whether_it_rings_and_whether_it_is_sure() -> None:
    timers = (
        Timer("sauce", "named", 60.0, 50.0, ringing=True),
        Timer("mix", "mix", 120.0, 165.0, certain=False),
        Timer("tray 4.2", "tray", 14_400.0, 3_790.0),
    )
    view = board_view(State(timers=timers), 100.0, BatchRules(), replies(), words(), NOTHING, current=True)
    shown = view["timers"]
    assert [(one["name"], one["time"], one["ringing"]) for one in shown] == [
        ("sauce", "ringing", True),
        ("mix", "about 1:05", False),
        ("tray 4.2", "61:30", False),
    ]


def test_the_page_takes_its_words_from_the_language(tmp_path: Path) -> None:
    own = tmp_path / "board.toml"
    own.write_text(
        'decimal_mark = ","\npage.low = "<low>"\nbatch.account.none = "{hydration_pct:number} %"\n'
    )
    changed = BoardWords.load(grammar_folder() / "board.toml", own)
    page = page_text(changed)
    assert 'id="lowText">&lt;low&gt;<' in page
    assert 'lang="en"' in page
    assert "{{" not in page
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("water three thirty five")
    view = board_view(stand.station.state, 0.0, BatchRules(), replies(), changed, NOTHING, current=True)
    assert view["batch"]["account"] == "22,3 %"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('page.lows = "x"', "the page has no wording for 'page.lows'; remove it or mend its name"),
        (
            'timer.sure = "{minutes:name}"',
            "timer.sure: value 'minutes' is not known here; it has time",
        ),
    ],
)
def test_a_wording_that_can_not_be_used_is_one_clear_line(tmp_path: Path, text: str, line: str) -> None:
    own = tmp_path / "board.toml"
    own.write_text(text)
    with pytest.raises(GrammarError) as caught:
        BoardWords.load(grammar_folder() / "board.toml", own)
    assert str(caught.value) == f"{own}: {line}"


@pytest.mark.parametrize(
    "file", sorted(grammar_folder().parent.glob("*/board.toml")), ids=lambda file: file.parent.name
)
def test_every_language_has_a_word_for_every_phase_and_verdict(file: Path) -> None:
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    assert set(table["words"]["phase"]) == {phase.value for phase in Phase}
    assert set(table["words"]["crumb"]) == set(get_args(Verdict))


@contextmanager
def _served(journal_file: Path, clock: ScriptedClock) -> Iterator[str]:
    server = BoardServer(
        "127.0.0.1",
        0,
        words(),
        lambda: read_view(journal_file, clock, BatchRules(), replies(), words(), NOTHING),
    )
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
    with BoardServer("127.0.0.1", 0, words(), dict) as first:
        taken = first.server_port
        with pytest.raises(
            SettingsError, match=rf"^The board can't be served at 127.0.0.1 port {taken} \(.*--host.$"
        ):
            BoardServer("127.0.0.1", taken, words(), dict)


def test_no_journal_is_an_error_of_ours(tmp_path: Path) -> None:
    with pytest.raises(JournalError):
        read_view(tmp_path / "none.sqlite", ScriptedClock(), BatchRules(), replies(), words(), NOTHING)
