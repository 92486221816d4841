"""The files of a group: given by one station, taken over by another, never where they could not be used."""

from pathlib import Path

import psycopg
import pytest

from assistant.app.group.shared_files import give, take_over
from assistant.config.flour_lots import read_stock
from assistant.config.settings import Settings
from assistant.errors import SyncError
from assistant.sync.shared_documents import is_shared
from tests.sync.cluster import Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen

LOTS = '[471]\nflour = "semolina"\nsupplier = "mill"\n'
RECIPE = 'name = "saffron"\ntarget_pct = 31.5\n\n[flour]\nsemolina = 100\n'
WORK = "\n[batch]\ntarget_pct = 31.5 # measured in May\n\n[voice]\nrate = 150\n"


def write(kitchen: Kitchen, name: str, text: str) -> Path:
    file = kitchen.home.config / name
    file.parent.mkdir(exist_ok=True)
    file.write_text(text)
    return file


def test_a_new_station_takes_over_what_its_group_has(kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    write(one, "lots.toml", LOTS)
    write(one, "recipes/saffron.toml", RECIPE)
    one.settle(one.port, WORK)
    given = give(one.home, one.group, over=False)
    assert sorted(given) == ["lots.toml", "recipes/saffron.toml", "settings.toml"]
    taken = take_over(two.home, two.group, replace=False)
    assert sorted(one.name for one in taken.files) == sorted(given)
    assert taken.kept == ()
    assert read_stock(two.home.config / "lots.toml")["471"].supplier == "mill"
    assert (two.home.config / "recipes/saffron.toml").read_text() == RECIPE
    settings = Settings.load(two.home.settings_file)
    assert (settings.batch.target_pct, settings.station.id, settings.voice.rate) == (31.5, "two", 160)
    assert give(two.home, two.group, over=False) == []
    assert take_over(two.home, two.group, replace=False).files == ()


def test_what_says_otherwise_here_stays_until_it_is_replaced(kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    write(one, "lots.toml", LOTS)
    one.settle(one.port, WORK)
    give(one.home, one.group, over=False)
    mine = write(two, "lots.toml", "[12]\n")
    two.settle(two.port, "\n[batch]\ntarget_pct = 30.5\n")
    taken = take_over(two.home, two.group, replace=False)
    assert sorted(taken.kept) == ["lots.toml", "settings.toml [batch] target_pct"]
    assert mine.read_text() == "[12]\n"
    assert two.look().newer == ("lots.toml", "settings.toml")
    assert Settings.load(two.home.settings_file).batch.target_pct == 30.5
    assert take_over(two.home, two.group, replace=True).kept == ()
    assert mine.read_text() == LOTS
    assert mine.with_name("lots.toml.before").read_text() == "[12]\n"
    assert Settings.load(two.home.settings_file).batch.target_pct == 31.5
    assert two.look().newer == ()


def test_a_newer_file_of_the_group_is_not_passed_over(kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    write(one, "lots.toml", LOTS)
    give(one.home, one.group, over=False)
    write(two, "lots.toml", "[12]\n")
    with pytest.raises(SyncError, match=r"lots\.toml of the group is at version 1, by 'one'"):
        give(two.home, two.group, over=False)
    assert give(two.home, two.group, over=True) == ["lots.toml"]
    assert one.look().newer == ("lots.toml",)


def test_what_could_not_be_used_is_neither_given_nor_taken(cluster: Cluster, kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    good = write(one, "lots.toml", LOTS)
    give(one.home, one.group, over=False)
    good.write_text('[471]\nmoisture_pct = "wet"\n')
    with pytest.raises(SyncError, match="moisture_pct"):
        give(one.home, one.group, over=False)
    cluster.run(
        "SET session_replication_role = replica; "
        "UPDATE crumbcall.documents SET content = '[471]\nsupplier = 3'",
        database=one.database,
    )
    with pytest.raises(SyncError, match="Nothing was taken over, it could not be used here"):
        take_over(two.home, two.group, replace=False)
    assert not (two.home.config / "lots.toml").exists()


def test_two_that_give_at_once_do_not_hide_each_other(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    write(one, "lots.toml", LOTS)
    give(one.home, one.group, over=False)
    assert cluster.run("SELECT name, version FROM crumbcall.documents", database=one.database) == [
        ("lots.toml", 1)
    ]
    with one.link() as link:
        link.execute("SELECT set_config('crumbcall.installation', %s, true)", (one.group.me.installation,))
        with pytest.raises(psycopg.Error, match=r"lots\.toml is of version 1 by now"):
            link.execute(
                "INSERT INTO crumbcall.documents (name, version, content, station) "
                "SELECT 'lots.toml', 1, '', station FROM crumbcall.stations"
            )


@pytest.mark.parametrize(
    "name",
    [
        "../settings.toml",
        "recipes/../../x.toml",
        "/etc/passwd",
        "recipes/.toml",
        "group.pass",
        "recipes/a/b.toml",
    ],
)
def test_nothing_else_is_ever_written(name: str) -> None:
    assert not is_shared(name)
