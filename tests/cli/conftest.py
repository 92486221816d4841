"""Runs a command in this process, with a home of its own."""

import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from assistant.__main__ import main
from tests.audio.virtual_card import virtual_card

__all__ = ["virtual_card"]


@dataclass(frozen=True)
class Ran:
    """What a command printed, and its exit status."""

    out: str
    err: str
    status: int

    @property
    def objects(self) -> list[dict[str, Any]]:
        """The JSON objects, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]


Run = Callable[..., Ran]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """`run("type", "--json", lines=[...])`."""
    monkeypatch.setenv("CRUMBCALL_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("CRUMBCALL_DEBUG", raising=False)

    def call(*arguments: str, lines: list[str] | None = None) -> Ran:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines or [])))
        status = 0
        try:
            main(list(arguments))
        except SystemExit as end:
            status = int(end.code or 0)
        printed = capsys.readouterr()
        return Ran(printed.out, printed.err, status)

    return call
