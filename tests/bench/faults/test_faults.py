"""The fault bench finds what it is there to find; a short form of it is run whole."""

import json
import os
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from tests.bench.faults.__main__ import joined
from tests.bench.faults.cook import Account, Found, Pour, acknowledge, sentences, verdict
from tests.bench.faults.power import SECTOR, Disk, Done
from tests.bench.faults.shim import Op

A, B, C = (1, 11.0), (1, 12.0), (2, 11.0)


@pytest.mark.parametrize(
    ("acknowledged", "pours", "counts"),
    [
        ([A, B], [A, B], (0, 0, 0)),
        ([A], [A, B], (0, 0, 0)),  # said, and ended before it was acknowledged
        ([A, B], [A], (1, 0, 0)),
        ([A], [A, A], (0, 1, 0)),
        ([A], [A, C], (0, 0, 1)),  # nobody said it
        ([A, B], [B, A], (0, 0, 1)),
    ],
)
def test_what_became_of_the_account(
    acknowledged: list[Pour], pours: list[Pour], counts: tuple[int, int, int]
) -> None:
    told = verdict(Account(said={A, B}, acknowledged=acknowledged), Found(pours=pours))
    assert (told.lost, told.twice, told.wrong) == counts
    assert told.harmless == (counts == (0, 0, 0))


def test_rows_that_were_not_run_stay_in_the_table() -> None:
    before = (
        "# Faults\n\n| fault | how | runs |\n| --- | --- | --- |\n| a | x | 1 |\n| b | x | 2 |\n\n- none\n"
    )
    measured = "| fault | how | runs |\n| --- | --- | --- |\n| b | x | 7 |\n| b | y | 8 |\n"
    found = joined(before, measured).splitlines()
    assert found[2:] == ["| a | x | 1 |", "| b | x | 7 |", "| b | y | 8 |"]


def test_the_cook_goes_on_from_what_is_there() -> None:
    account = Account()
    known = Found(batches=3, poured=[300.0, 190.0], open=True)
    lines = sentences(known, account, Random(1), 6)
    assert "new batch 2000" in lines
    assert {batch for batch, _ in account.said} <= {3, 4}
    printed = [
        json.dumps({"command": {"name": "new_batch"}, "replies": [{"key": "batch_opened"}]}),
        json.dumps({"command": {"name": "water", "grams": 12}, "replies": [{"key": "water_in"}]}),
        json.dumps({"command": {"name": "water", "grams": 9}, "replies": [{"key": "journal_failed"}]}),
    ]
    assert acknowledge([line.encode() for line in printed], known, account) == 1
    assert account.acknowledged == [(4, 12.0)]


def write(offset: int, data: bytes) -> Done:
    """A write to the one file."""
    return Done(Op.WRITE, "file", offset, len(data), data)


def test_after_a_loss_of_power_what_was_synced_is_there_and_the_rest_by_sectors() -> None:
    disk = Disk()
    disk.take(write(0, b"a" * SECTOR))
    disk.take(Done(Op.SYNC, "file", 0, 0, b""))
    disk.take(write(0, b"b" * SECTOR))
    disk.take(write(SECTOR, b"c" * 2 * SECTOR))
    assert disk.after_a_loss(Random(1), 0.0) == {"file": b"a" * SECTOR}
    assert disk.after_a_loss(Random(1), 1.0) == {"file": b"b" * SECTOR + b"c" * 2 * SECTOR}
    found = {disk.after_a_loss(Random(seed), 0.5)["file"] for seed in range(50)}
    assert len(found) == 2**3


def test_what_was_removed_may_come_back_until_something_is_synced() -> None:
    disk = Disk()
    disk.take(write(0, b"a"))
    disk.take(Done(Op.SYNC, "file", 0, 0, b""))
    disk.take(Done(Op.UNLINK, "file", 0, 0, b""))
    assert disk.after_a_loss(Random(1), 0.0) == {"file": b"a"}
    assert disk.after_a_loss(Random(1), 1.0) == {}
    disk.take(Done(Op.SYNC, "other", 0, 0, b""))
    assert disk.after_a_loss(Random(1), 0.0) == {"other": b""}


def test_nothing_is_lost_in_the_short_form(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tests.bench.faults", "--runs", "0.002", "--folder", str(tmp_path)]
    ran = subprocess.run(
        [*command, "--only", "killed", "power", "signal", "clock", "two"],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "CRUMBCALL_DEBUG": ""},
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "| killed |" in ran.stdout
