"""The machine's clock as a plan's test wants it."""

from collections.abc import Callable
from datetime import datetime

import pytest

from assistant.cli.planning import command
from assistant.clock import ScriptedClock


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """`at("2026-03-02 10:00")`: what the machine's clock shows."""

    def set_to(local: str) -> None:
        clock = ScriptedClock(wall=datetime.fromisoformat(local).astimezone().timestamp())
        monkeypatch.setattr(command, "real_clock", lambda: clock)

    set_to("2026-03-02 10:00")
    return set_to
