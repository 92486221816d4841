"""A station whose storage fails goes on: it rings, answers, keeps the account, says what is not written."""

import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue

import pytest

from assistant.batch.record.events import Event, WaterAdded
from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.rules import BatchRules
from assistant.clock import ScriptedClock
from assistant.errors import StorageError
from assistant.journal.damage import KeptDecision
from assistant.journal.held import HeldJournal
from assistant.journal.holding.in_time import InTime
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from assistant.station.loop import Loop
from assistant.station.messages import Beat, Message, Typed
from assistant.station.not_written import SAY_AGAIN_S
from assistant.station.station import Station, Turn
from tests.journal.full_disk import no_room
from tests.station.stand import grammar, replies


@dataclass
class Shaky:
    """A station on a journal on disk."""

    path: Path
    clock: ScriptedClock = field(default_factory=ScriptedClock)
    turns: list[Turn] = field(default_factory=list)
    told: list[Event] = field(default_factory=list)
    """What the station said is written."""

    def __post_init__(self) -> None:
        """Open the journal, and put the station together."""
        self.journal = HeldJournal.open(self.path, self.clock)
        state, self.last = self.journal.load()
        self.station = Station(
            self.journal,
            self.clock,
            BatchRules(),
            grammar(),
            replies(),
            state,
            written=self.told.extend,
            held=self.journal,
        )
        self.inbox: Queue[Message] = Queue()
        self.loop = Loop(self.station, self.inbox, lambda turn, _: self.turns.append(turn))

    def say(self, text: str) -> list[str]:
        """Keys of the replies to a sentence."""
        return [reply.key for reply in self.station.hear(text, source="keyboard").replies]

    def wait(self, seconds: float) -> list[tuple[float, str]]:
        """Let time pass; when what was said of itself."""
        before = len(self.turns)
        self.loop.pass_time(self.clock, seconds)
        return [(turn.at, reply.key) for turn in self.turns[before:] for reply in turn.replies]

    def written(self) -> list[Event]:
        """What is in the journal."""
        return [event for _, event in self.journal.read()]


@pytest.fixture
def stations() -> Iterator[list[Shaky]]:
    """All that are put together here are closed at the end."""
    found: list[Shaky] = []
    yield found
    for one in found:
        one.journal.close()


@pytest.fixture
def shaky(tmp_path: Path, stations: list[Shaky]) -> Shaky:
    stations.append(Shaky(tmp_path / "journal.sqlite"))
    return stations[-1]


def test_a_timer_rings_though_nothing_can_be_written(shaky: Shaky) -> None:
    shaky.say("timer two one minute")
    with no_room():
        assert shaky.wait(60.0) == [(60.0, "not_written"), (60.0, "timer_rings")]
        assert shaky.wait(15.0) == [(75.0, "timer_rings")]
        assert shaky.say("got it") == ["got_it"]


def test_the_warning_comes_first_and_once_then_every_few_minutes_and_the_end_is_told_once(
    shaky: Shaky,
) -> None:
    with no_room():
        assert shaky.say("new batch fifteen hundred") == ["not_written", "batch_opened", "first_pour"]
        assert shaky.say("water one fifty") == ["water_in", "left"]
        assert shaky.say("undo") == ["undone_water", "left"]
        assert shaky.say("how much in") == ["account"]
        assert shaky.wait(2 * SAY_AGAIN_S + 1.0) == [
            (SAY_AGAIN_S, "not_written"),
            (2 * SAY_AGAIN_S, "not_written"),
        ]
        assert shaky.told == []
    assert [key for _, key in shaky.wait(60.0)] == ["written_again"]
    assert shaky.wait(600.0) == []
    assert shaky.told == shaky.written()
    assert replay(shaky.written()) == shaky.station.state
    assert shaky.say("water one fifty") == ["water_in", "left"]
    assert shaky.told == shaky.written()


def test_nothing_of_it_is_spoken_into_a_question(shaky: Shaky) -> None:
    shaky.say("new batch fifteen hundred")
    with no_room():
        shaky.wait(1.0)
        assert shaky.say("water one fifty") == ["not_written", "water_in", "left"]
        assert shaky.say("water one fifty") == ["ask_again"]
    assert [key for at, key in shaky.wait(9.0)] == []
    assert [key for at, key in shaky.wait(60.0)] == ["lapsed", "written_again"]


def test_the_loop_does_not_spin_and_answers_all_that_waits_while_storage_fails(shaky: Shaky) -> None:
    shaky.say("timer two one minute")
    beats: list[float] = []
    with no_room():
        shaky.clock.move(60.0)
        for _ in range(500):
            shaky.inbox.put(Typed("how much left"))
            shaky.inbox.put(Beat(lambda: beats.append(shaky.clock.monotonic())))
        turns = 0
        while shaky.loop.turn(wait=False):
            turns += 1
        assert (turns, len(beats), shaky.inbox.qsize()) == (1001, 500, 0)
        assert [reply.key for reply in shaky.turns[0].replies] == ["not_written", "timer_rings"]
        due = shaky.station.next_due
        assert due is not None
        assert due > shaky.clock.monotonic()


def test_a_start_without_room_says_so_before_anything_else_and_goes_on(
    shaky: Shaky, stations: list[Shaky]
) -> None:
    shaky.say("new batch fifteen hundred")
    shaky.say("water one fifty")
    shaky.journal.close()
    with no_room():
        again = Shaky(shaky.path, shaky.clock)
        stations.append(again)
        started = again.station.start(again.last)
        assert [reply.key for reply in started.replies] == ["not_written", "batch_resumed"]
        assert again.say("water one hundred") == ["water_in", "left"]
        assert again.station.failing
    assert [key for _, key in again.wait(10.0)] == ["written_again"]
    again.journal.close()
    third = Shaky(shaky.path, shaky.clock)
    stations.append(third)
    assert third.station.state == again.station.state
    assert third.station.state.batch is not None
    assert third.station.state.batch.water_g == 250


def test_a_fresh_station_without_room_is_ready_and_says_so(tmp_path: Path, stations: list[Shaky]) -> None:
    with no_room():
        shaky = Shaky(tmp_path / "journal.sqlite")
        stations.append(shaky)
        keys = [reply.key for reply in shaky.station.start(None).replies]
        assert keys == ["not_written", "ready"]


def test_where_no_more_can_be_held_nothing_happens_and_the_cook_hears_that(
    shaky: Shaky, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.journal.held.MOST_HELD", 1)
    shaky.say("new batch fifteen hundred")
    with no_room():
        assert shaky.say("water one fifty") == ["not_written", "water_in", "left"]
        before = shaky.station.state
        assert shaky.say("water two hundred") == ["cannot_write"]
        assert shaky.station.state is before
    shaky.wait(60.0)
    assert shaky.say("water one hundred") == ["water_in", "left"]


def test_a_record_that_cant_be_read_is_told_with_the_first_warning(
    shaky: Shaky, stations: list[Shaky], monkeypatch: pytest.MonkeyPatch
) -> None:
    shaky.say("new batch fifteen hundred")
    shaky.journal.close()

    def refused(*_: object) -> None:
        raise StorageError("the disk fails")

    monkeypatch.setattr("assistant.journal.holding.in_memory.connect_to_read", refused)
    monkeypatch.setattr("shutil.copyfile", refused)
    monkeypatch.setattr("assistant.journal.store.SqliteJournal.open", refused)
    again = Shaky(shaky.path, shaky.clock)
    stations.append(again)
    keys = [reply.key for reply in again.station.start(again.last).replies]
    assert keys == ["journal_unread", "not_written", "ready"]


def test_a_journal_that_was_replaced_under_the_station_is_said_once(shaky: Shaky) -> None:
    shaky.say("new batch 2000")
    shaky.path.rename(shaky.path.with_name("elsewhere"))
    shaky.path.write_bytes(b"another")
    assert shaky.say("water 300")[0] == "journal_put_back"
    assert "journal_put_back" not in shaky.say("water 20")
    assert replay(shaky.written()) == shaky.station.state


def test_a_disk_that_does_not_answer_is_gone_on_without_and_nothing_is_written_twice(
    tmp_path: Path, stations: list[Shaky], monkeypatch: pytest.MonkeyPatch
) -> None:
    hangs, goes_on = threading.Event(), threading.Event()
    real = SqliteJournal.append_kept

    def hanging(journal: SqliteJournal, decisions: Sequence[KeptDecision]) -> Sequence[Stamp]:
        if hangs.is_set():
            goes_on.wait()
        return real(journal, decisions)

    # Whoever waits for a disk that hangs is told at once that the time is up.
    in_time = InTime(lambda done, _: False if hangs.is_set() else done.wait())
    monkeypatch.setattr(SqliteJournal, "append_kept", hanging)
    monkeypatch.setattr("assistant.journal.held.InTime", lambda: in_time)
    shaky = Shaky(tmp_path / "journal.sqlite")
    stations.append(shaky)
    shaky.say("new batch 2000")
    shaky.say("timer one minute")
    hangs.set()
    assert shaky.say("water 300")[0] == "not_written"
    assert "water_in" in shaky.say("water 20")
    assert shaky.say("how much in") == ["account"]
    assert "timer_rings" in [key for _, key in shaky.wait(70.0)]
    with pytest.raises(StorageError, match="does not answer"):
        shaky.journal.batch(1)
    assert shaky.station.failing
    hangs.clear()
    goes_on.set()
    assert in_time._late is not None
    in_time._late.done.wait()
    assert "written_again" in [key for _, key in shaky.wait(200.0)]
    assert replay(shaky.written()) == shaky.station.state
    assert [event.grams for event in shaky.written() if isinstance(event, WaterAdded)] == [300.0, 20.0]
