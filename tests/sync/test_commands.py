"""`crumbcall sync`, as somebody types it."""

from pathlib import Path

import pytest

from assistant.app.adapters import real_clock
from assistant.app.application import Application, open_application
from assistant.app.live_station import _group
from assistant.cli.check.group import group_part
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.station.alive.inbox import Inbox
from assistant.sync.group_file import GroupFile, Kept
from tests.cli.conftest import Run, run
from tests.sync.cluster import OWNER, Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen, batches

__all__ = ["run"]


def at(kitchen: Kitchen, *arguments: str) -> tuple[str, ...]:
    return ("--home", str(kitchen.home.data), "sync", *arguments)


def test_a_group_of_two_from_the_first_command_to_the_last(cluster: Cluster, kitchen: Open, run: Run) -> None:
    cluster.run("CREATE DATABASE by_hand")
    owner = f"postgresql://{OWNER}@127.0.0.1:{cluster.port}/by_hand"
    one, two = kitchen("one"), kitchen("two")
    for station in (one, two):
        station.database = "by_hand"
        station.settle(cluster.port)
    assert run(*at(one, "prepare", "--server", owner)).out == "Ready, at step 0002.\n"
    assert run(*at(one, "prepare", "--server", owner)).out == "Ready, at step 0002.\n"
    one.cook(batches(2))
    two.cook(batches(1, lot="8"))
    assert run(*at(one, "status")).out.splitlines() == [
        "one in by_hand at 127.0.0.1: last reached never.",
        "0 of 14 decisions are there; flour of 0 other stations is here.",
    ]
    assert run(*at(one)).out == "14 decisions sent, the server has 14; 0 batches of others came.\n"
    assert run(*at(two)).out == "7 decisions sent, the server has 7; 2 batches of others came.\n"
    (one.home.config / "lots.toml").write_text("[471]\n")
    assert run(*at(one, "share")).out == "Given: lots.toml.\n"
    assert run(*at(one, "share")).out == "The group has all of it already.\n"
    assert "Newer in the group: lots.toml; crumbcall sync join" in run(*at(two)).out
    assert run(*at(two, "join")).out.startswith("lots.toml: version 1, by one.\n")
    assert run(*at(two, "join")).out == "All is here as it is in the group.\n"
    shown = run("--home", str(two.home.data), "lots", "471").out
    assert "batch 2 of one: 31.0 % (dry at 30.0, ready at 31.0)" in shown
    assert "2 batches" in shown
    assert "'one' is free" in run(*at(one, "release", "one", "--server", owner)).out
    cluster.run("DROP DATABASE by_hand WITH (FORCE)")


@pytest.mark.parametrize("arguments", [(), ("status",), ("follow",), ("join",), ("share",), ("restore",)])
def test_without_a_server_it_is_said_that_none_is_needed(
    kitchen: Open, run: Run, arguments: tuple[str, ...]
) -> None:
    one = kitchen("one")
    one.home.settings_file.write_text("")
    ran = run(*at(one, *arguments))
    assert (ran.status, ran.out) == (2, "")
    assert "No server is named, so this station has no group and needs none" in ran.err
    assert ran.err.count("\n") == 1


def app_of(kitchen: Kitchen) -> Application:
    return open_application(kitchen.home)


def test_listen_looks_by_itself_where_it_has_a_network(
    kitchen: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a service it has none: there the service of the group looks."""
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    one = kitchen("one")

    def workers() -> list[str]:
        found = _group(app_of(one), ScriptedClock(), Inbox(), lambda _: None)
        return [worker.name for worker in found]

    assert workers() == ["group"]
    monkeypatch.setenv("NOTIFY_SOCKET", "/run/systemd/notify")
    assert workers() == []
    monkeypatch.delenv("NOTIFY_SOCKET")
    one.home.settings_file.write_text("")
    assert workers() == []


def test_check_says_how_a_station_stands_with_its_group(tmp_path: Path) -> None:
    home = Home.find(tmp_path)
    app = open_application(home)
    assert group_part(app) == [], "no group, no line"
    (tmp_path / "settings.toml").write_text('[sync]\nserver = "postgresql://one@db.example/group"\n')
    app = open_application(home)
    (never,) = group_part(app)
    assert (never.works, never.needed, never.found) == (False, False, "group at db.example was never reached")
    with GroupFile(home.group_file) as copy:
        copy.keep(Kept(at=real_clock().wall() - 180.0, sent=7))
    (well,) = group_part(app)
    assert (well.works, well.found) == (
        True,
        "group at db.example, reached 3 minutes ago; 7 of 0 decisions are there, "
        "flour of 0 other stations is here",
    )
    with GroupFile(home.group_file) as copy:
        copy.keep(Kept(at=1.0, problem="nothing answers there"))
    (broken,) = group_part(app)
    assert (broken.works, broken.found) == (False, "nothing answers there")
