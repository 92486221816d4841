"""Real processes: `crumbcall type` is killed, and the page beside it says so within three seconds."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import expect

from assistant.clock import RealClock
from tests.browser.conftest import NewPage
from tests.test_project import TOP


@contextmanager
def crumbcall(home: Path, *arguments: str) -> Iterator["subprocess.Popen[str]"]:
    """A command of the program in a process of its own; it is ended with the context."""
    process = subprocess.Popen(
        [sys.executable, "-m", "assistant", "--home", str(home), *arguments],
        cwd=TOP,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def test_a_station_that_is_killed_is_gone_on_the_page(tmp_path: Path, new_page: NewPage) -> None:
    with crumbcall(tmp_path, "type") as station, crumbcall(tmp_path, "board", "--port", "0") as board:
        assert station.stdin is not None
        assert station.stdout is not None
        assert board.stdout is not None
        station.stdin.write("new batch fifteen hundred\n")
        station.stdin.flush()
        assert "Batch one" in station.stdout.readline() + station.stdout.readline()
        address = board.stdout.readline().partition(" at ")[2].partition(" ")[0]
        page = new_page(address)
        expect(page.locator("#hearing")).to_have_text("at the keyboard")
        expect(page.locator("#account")).to_have_text("0 g in 1500 g of flour, 0 %")
        station.kill()
        station.wait()
        since = r" since \d\d:\d\d" if RealClock().wall_trusted() else ""
        expect(page.locator("#hearing")).to_have_text(re.compile(f"^station gone{since}$"), timeout=3000)
        expect(page.locator("#old")).to_contain_text("0 min old")
