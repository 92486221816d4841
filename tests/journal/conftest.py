"""Where a test keeps its journal, and its clock."""

from pathlib import Path

import pytest

from assistant.clock import ScriptedClock


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "journal.sqlite"


@pytest.fixture
def clock() -> ScriptedClock:
    return ScriptedClock()
