"""Looking again and again: a server that is away costs nothing but longer pauses, and one line."""

from collections.abc import Callable
from pathlib import Path
from threading import Event

from assistant.errors import SyncError
from assistant.sync.group_file import GroupFile
from assistant.sync.link import Server
from assistant.sync.member import member
from assistant.sync.rounds import LONGEST_S, Group, Look, Looking, pause_s


def a_group(folder: Path) -> Group:
    server = Server("127.0.0.1", 1, "crumbcall", "one")
    return Group(server, member("one", folder), folder / "journal.sqlite", folder / "group.sqlite")


def test_pauses_grow_to_a_bound_and_differ_from_station_to_station() -> None:
    pauses = [pause_s(failures, 30.0, 0.0) for failures in range(8)]
    assert pauses == [30.0, 60.0, 120.0, 240.0, 480.0, 900.0, 900.0, 900.0]
    assert pause_s(10_000, 30.0, 0.0) == LONGEST_S
    assert pause_s(3, 3600.0, 0.0) == 3600.0
    assert pause_s(0, 30.0, 1.0) == 37.5


def test_what_fails_is_told_once_and_kept_until_it_is_well(tmp_path: Path) -> None:
    answers: list[Look | SyncError] = [
        Look(3, 3, 0, ()),
        SyncError("away"),
        SyncError("away"),
        SyncError("wrong password"),
        Look(1, 4, 0, ("lots.toml",)),
    ]
    told: list[str] = []
    problems = []

    def once(_: Group, __: Callable[[], bool]) -> Look:
        answer = answers.pop(0)
        if isinstance(answer, SyncError):
            raise answer
        return answer

    looking = Looking(lambda: a_group(tmp_path), 30.0, lambda: 1000.0, told.append, once)
    waits = []
    while answers:
        waits.append(looking.step(Event()))
        with GroupFile(tmp_path / "group.sqlite") as copy:
            problems.append((copy.status().sent, copy.status().problem))
    assert told == ["away", "wrong password", "The group's server is there again."]
    assert problems == [(3, ""), (3, "away"), (3, "away"), (3, "wrong password"), (4, "")]
    assert waits[0] == waits[4] < waits[1] < waits[2] < waits[3]


def test_a_copy_that_can_not_be_written_ends_nothing(tmp_path: Path) -> None:
    told: list[str] = []
    (tmp_path / "group.sqlite").mkdir()
    looking = Looking(lambda: a_group(tmp_path), 30.0, lambda: 1000.0, told.append)
    assert looking.step(Event()) > 30.0
    assert len(told) == 1
    assert "can't be used" in told[0]


def test_it_ends_when_it_is_told_to(tmp_path: Path) -> None:
    looks = []
    stop = Event()

    def once(_: Group, go_on: Callable[[], bool]) -> Look:
        looks.append(go_on())
        stop.set()
        looks.append(go_on())
        return Look(0, 0, 0, ())

    Looking(lambda: a_group(tmp_path), 30.0, lambda: 0.0, once=once).run(stop)
    assert looks == [True, False]


def test_an_installation_keeps_its_id(tmp_path: Path) -> None:
    first = member("one", tmp_path)
    assert member("one", tmp_path) == first
    assert len(first.installation) == 32
    assert (tmp_path / "installation").stat().st_mode & 0o777 == 0o600
    assert first.installation != member("one", tmp_path / "other").installation
