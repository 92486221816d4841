import os
from collections.abc import Iterator

import pytest
from hypothesis import settings

# The same examples every time, on a busy machine too; a slow run is no failure.
settings.register_profile("crumbcall", deadline=None, derandomize=True, database=None)
settings.load_profile("crumbcall")


@pytest.fixture(scope="session", autouse=True)
def _kept_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What is made of the grammar at a first start is made once, not for the home of every test."""
    os.environ.setdefault("CRUMBCALL_KEPT", str(tmp_path_factory.mktemp("kept")))
    yield
    os.environ.pop("CRUMBCALL_KEPT", None)
