"""A prepared server for each test, and stations of its group."""

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assistant.sync.link import Server
from assistant.sync.server.prepare import prepare
from tests.sync.cluster import OWNER, Cluster
from tests.sync.kitchens import ACCOUNT, PASSWORD, Kitchen

_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """One PostgreSQL for all tests; a machine without it fails them, for what they prove needs it."""
    made = Cluster()
    try:
        made.run("CREATE DATABASE prepared")
        prepare(Server("127.0.0.1", made.port, "prepared", OWNER))
        made.run(f"CREATE ROLE {ACCOUNT} LOGIN PASSWORD '{PASSWORD}' IN ROLE crumbcall_station")
        yield made
    finally:
        made.remove()


@pytest.fixture
def database(cluster: Cluster) -> Iterator[str]:
    """Name of a database of the test's own, prepared as any server is."""
    name = f"group_{next(_numbers)}"
    cluster.run(f"CREATE DATABASE {name} TEMPLATE prepared")
    yield name
    cluster.run(f"DROP DATABASE {name} WITH (FORCE)")


Open = Callable[..., Kitchen]


@pytest.fixture
def kitchen(cluster: Cluster, database: str, tmp_path: Path) -> Open:
    """`kitchen("one")`: a station of that name, with a home and a journal of its own."""

    def make(name: str, *, port: int | None = None, folder: str = "") -> Kitchen:
        return Kitchen(tmp_path / (folder or name), name, database, port or cluster.port)

    return make
