"""`crumbcall ledger export` as a user calls it."""

import gc
import json
import sys
from pathlib import Path

import pytest

from assistant.journal.exporting.tables import TABLES
from tests.cli.conftest import Run
from tests.journal.exporting.record import write_record


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    write_record(home / "journal.sqlite")
    (home / "lots.toml").write_text('[12]\nsupplier = "=1+1"\n', encoding="utf-8")
    return home


def test_a_folder_gets_a_file_a_table_and_their_schema(run: Run, home: Path) -> None:
    target = home / "out"
    ran = run("ledger", "export", str(target))
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith(f"{target} written: ")
    wanted = {f"{name}.csv" for name in TABLES} | {"datapackage.json"}
    assert {one.name for one in target.iterdir()} == wanted
    assert "'=1+1" in (target / "lots.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["march.xlsx", "MARCH.XLSX"])
def test_a_name_of_a_workbook_gets_one(run: Run, home: Path, name: str) -> None:
    assert run("ledger", "export", str(home / name)).status == 0
    assert (home / name).read_bytes().startswith(b"PK")


def test_the_schema_is_printed_without_a_journal(run: Run) -> None:
    described = json.loads(run("ledger", "export", "--schema", "--format", "jsonl").out)
    assert [one["path"] for one in described["resources"]] == [f"{name}.jsonl" for name in TABLES]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "name a folder"),
        (("{}/x.xlsx", "--format", "csv"), "leave one out"),
        (("{}/x", "--schema"), "--schema only prints"),
        (("{}/x", "--format", "pdf"), "'csv', 'jsonl'"),
        (("{}/march.CSV",), "name one without .CSV, or a workbook that ends in .xlsx"),
        (("{}/journal.sqlite",), "it is a file; name a folder"),
        (("/proc/none",), "can't be written"),
        (("{}/journal.sqlite/below",), "can't be written"),
        (("/proc/none.xlsx",), "can't be written"),
    ],
)
def test_what_can_t_be_meant_is_one_line(run: Run, home: Path, arguments: tuple[str, ...], says: str) -> None:
    ran = run("ledger", "export", *(one.format(home) for one in arguments))
    assert (ran.status, ran.out) == (2, "")
    assert says in ran.err
    assert "Traceback" not in ran.err
    assert len(ran.err.splitlines()) == 1


def test_without_the_extra_a_workbook_says_what_to_install(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    ran = run("ledger", "export", str(home / "march.xlsx"))
    assert (ran.status, len(ran.err.splitlines())) == (2, 1)
    assert "install crumbcall[export]" in ran.err
    assert not (home / "march.xlsx").exists()
    assert run("ledger", "export", str(home / "out")).status == 0


def test_a_workbook_that_is_not_written_is_closed(run: Run) -> None:
    assert run("ledger", "export", "/proc/none.xlsx").status == 2
    gc.collect()  # a sheet that was left open fails here, as an exception that nobody can catch
