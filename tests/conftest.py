import os
import pkgutil
import signal
from collections.abc import Iterator
from importlib import import_module

import pytest
from hypothesis import settings

import assistant

# The same examples every time, on a busy machine too; a slow run is no failure.
settings.register_profile("crumbcall", deadline=None, derandomize=True, database=None)
settings.load_profile("crumbcall")

# Hypothesis also draws constants of the modules that are imported: all are, so that the examples are the same
# whatever else is run.
for module in pkgutil.walk_packages(assistant.__path__, "assistant."):
    if not module.name.endswith("__main__"):
        import_module(module.name)


@pytest.fixture(scope="session", autouse=True)
def _signals_end() -> None:
    """Programs under test end by signals, whatever began the tests ignores: nohup, a shell's &."""
    for one in (signal.SIGHUP, signal.SIGQUIT):
        signal.signal(one, signal.SIG_DFL)
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session", autouse=True)
def _kept_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What is made of the grammar at a first start is made once, not for the home of every test."""
    os.environ.setdefault("CRUMBCALL_KEPT", str(tmp_path_factory.mktemp("kept")))
    yield
    os.environ.pop("CRUMBCALL_KEPT", None)
