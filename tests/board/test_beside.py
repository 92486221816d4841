"""The page beside the station: what it knows from journal and heartbeat, whether the station lives or not."""

from pathlib import Path

import pytest

from assistant.app.application import Application, open_application
from assistant.app.pages.wall_page import At, glance_beside, page_beside
from assistant.board.serving import NEEDS, check_extra
from assistant.board.watching import JournalWatch
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.errors import JournalError, SettingsError
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.station.alive.heartbeat import STALE_S, Heartbeat
from assistant.station.alive.presence import Presence
from assistant.station.messages import Typed
from assistant.station.station import Station
from tests.station.stand import Stand, grammar, replies
from tests.station.test_practice import PracticeStand


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Application:
    """An application, read once; each test has a home of its own."""
    return open_application(Home.find(tmp_path_factory.mktemp("read")))


@pytest.fixture
def kitchen(app: Application, tmp_path: Path) -> Application:
    """The application in a fresh home."""
    fields = {name: getattr(app, name) for name in app.__slots__}
    return Application(**{**fields, "home": Home.find(tmp_path)})


def test_a_running_station_on_a_fresh_home_runs(kitchen: Application) -> None:
    clock = ScriptedClock()
    heart = kitchen.heartbeat(clock)
    heart.beat()
    glance = glance_beside(kitchen, clock)()
    assert glance.gone_at is None
    assert glance.state.batch is None
    heart.close()
    assert glance_beside(kitchen, clock)().gone_at == clock.wall()


def test_a_station_that_started_after_a_reboot_runs(kitchen: Application) -> None:
    clock = ScriptedClock(boot="before")
    station, journal, _ = kitchen.open_station(clock)
    station.hear("new batch fifteen hundred")
    journal.close()
    clock.reboot("after", off_s=3600)
    heart = kitchen.heartbeat(clock)
    heart.beat()
    glance = glance_beside(kitchen, clock)()
    assert glance.gone_at is None
    assert glance.state.batch is not None
    heart.close()


def test_a_station_that_was_killed_is_gone_at_once_and_its_figures_stand_still(kitchen: Application) -> None:
    clock = ScriptedClock()
    station, journal, _ = kitchen.open_station(clock)
    heart = kitchen.heartbeat(clock)
    look = glance_beside(kitchen, clock)
    station.hear("timer two ten minutes")
    heart.beat()
    clock.move(5)
    assert (look().gone_at, look().now) == (None, 5.0)
    heart.close()  # as the system does for a process that is killed
    clock.move(600)
    glance = look()
    assert (glance.gone_at, glance.now) == (clock.wall() - 605, 0.0)
    journal.close()


def test_a_station_that_hangs_is_gone_too(kitchen: Application) -> None:
    clock = ScriptedClock()
    heart = kitchen.heartbeat(clock)
    heart.beat()
    clock.move(STALE_S + 1)
    assert glance_beside(kitchen, clock)().gone_at == clock.wall() - STALE_S - 1
    heart.close()


def test_a_second_station_does_not_end_the_first_ones_sign(tmp_path: Path) -> None:
    clock = ScriptedClock()
    first, second = (Heartbeat(tmp_path / "heartbeat.json", clock) for _ in range(2))
    first.beat()
    second.beat()
    second.close()
    assert second.lives()
    first.close()
    assert not first.lives()


def test_hearing_and_last_words_come_over(kitchen: Application) -> None:
    clock = ScriptedClock()
    heart = kitchen.heartbeat(clock)
    stand = Stand(clock)
    presence = Presence(heart, busy=lambda: True)
    presence.follow(stand.station.hear("new batch"), None, stand.station.state)
    glance = glance_beside(kitchen, clock)()
    assert glance.hearing == "speaks"
    assert (glance.last.heard, glance.last.understood) == ("new batch", True)
    assert glance.last.question == glance.last.said == "How much flour?"
    presence.left_alone(Typed("blah"))
    glance = glance_beside(kitchen, clock)()
    assert (glance.last.heard, glance.last.understood) == ("blah", False)
    heart.close()


def test_the_batch_that_is_practised_comes_over(kitchen: Application) -> None:
    clock = ScriptedClock()
    heart = kitchen.heartbeat(clock)
    stand = PracticeStand(clock)
    presence = Presence(heart, practised=lambda: stand.practice.practised)
    for line in ("practice", "lot twelve", "new batch one kilo"):
        presence.follow(stand.station.hear(line), None, stand.station.state)
    practised = glance_beside(kitchen, clock)().practised
    assert practised == stand.practice.practised
    assert practised is not None
    assert practised.state is not None
    assert practised.state.batch is not None
    assert practised.state.batch.flour_g == 1000
    assert stand.station.state.batch is None
    presence.follow(stand.station.hear("stop practice"), None, stand.station.state)
    assert glance_beside(kitchen, clock)().practised is None
    heart.close()


def test_a_heartbeat_of_a_former_version_is_still_read(kitchen: Application) -> None:
    clock = ScriptedClock()
    text = '{"boot": "scripted", "monotonic": 1.0, "wall": 2.0, "wall_trusted": true}'
    (kitchen.home.data / "heartbeat.json").write_text(text)
    assert glance_beside(kitchen, clock)().gone_at == 2.0


def test_a_journal_is_read_again_only_when_it_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock, file = ScriptedClock(), tmp_path / "journal.sqlite"
    watch = JournalWatch(file)
    with pytest.raises(JournalError, match="there is no journal yet"):
        watch()
    journal = SqliteJournal.open(file, clock)
    station = Station(journal, clock, Stand().station._rules, grammar(), replies())
    station.hear("new batch fifteen hundred")
    state, _ = watch()
    assert state.batch is not None
    reads, really = list[Path](), JournalReader.open

    def counted(file: Path) -> JournalReader:
        reads.append(file)
        return really(file)

    monkeypatch.setattr(JournalReader, "open", counted)
    watch()
    assert reads == []
    station.hear("water one fifty")
    state, _ = watch()
    assert state.batch is not None
    assert (state.batch.water_g, len(reads)) == (150.0, 1)
    journal.close()


def test_without_the_libraries_one_line_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == "starlette" else object())
    with pytest.raises(SettingsError) as caught:
        check_extra()
    assert str(caught.value) == NEEDS
    assert "\n" not in NEEDS


def test_the_page_beside_is_served(kitchen: Application) -> None:
    server = page_beside(kitchen, ScriptedClock(), At(port=0))
    assert server.address == f"http://127.0.0.1:{server.port}/"
    server.close()
