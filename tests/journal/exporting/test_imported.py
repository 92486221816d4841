"""Other programs read an export with equal values: pandas, openpyxl, LibreOffice where it is installed."""

import csv
import shutil
import subprocess
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

from assistant.journal.exporting.tables import TABLES
from tests.journal.exporting.record import by_json, exported, read_cells, write_record

SOFFICE = shutil.which("soffice")
_DTYPES = {"integer": "Int64", "number": "Float64", "boolean": "boolean"}


@pytest.fixture
def out(path: Path, tmp_path: Path) -> Path:
    """A folder with an export in every form."""
    write_record(path)
    for form in ("csv", "jsonl"):
        exported(path, tmp_path / "out", form, force=True)
    exported(path, tmp_path / "out" / "all.xlsx")
    return tmp_path / "out"


def same(frame: pd.DataFrame, rows: list[dict[str, Any]]) -> None:
    found = [
        {str(name): None if pd.isna(value) else value for name, value in row.items()}
        for row in frame.to_dict("records")
    ]
    assert found == rows


@pytest.mark.parametrize("table", TABLES)
def test_pandas_reads_equal_values(out: Path, table: str) -> None:
    dtypes = {one.name: _DTYPES.get(one.kind, "object") for one in TABLES[table].columns}
    rows = by_json(out, table)
    # "#N/A" is a text of the kitchen's here: missing is the empty cell alone, as the schema says.
    frame = pd.read_csv(
        out / f"{table}.csv",
        dtype=dtypes,
        keep_default_na=False,
        na_values=[""],
    )
    for one in TABLES[table].columns:
        if one.kind == "string":
            frame[one.name] = frame[one.name].str.replace(r"^'", "", regex=True)
    same(frame, rows)


def test_pandas_reads_the_times(out: Path) -> None:
    times = pd.to_datetime(pd.read_csv(out / "batches.csv")["opened_at"], format="ISO8601")
    wanted = [datetime.fromisoformat(one["opened_at"]).astimezone(UTC) for one in by_json(out, "batches")]
    assert list(times) == wanted


def test_a_workbook_has_equal_values_and_no_formula(out: Path) -> None:
    book = openpyxl.load_workbook(out / "all.xlsx")
    assert book.sheetnames == [*TABLES, "columns"]
    for table in TABLES:
        head, *rows = book[table].iter_rows()
        assert tuple(cell.value for cell in head) == TABLES[table].names
        assert {cell.data_type for row in rows for cell in row} <= {"s", "n", "b", "inlineStr"}
        found = [
            dict(zip(TABLES[table].names, (unescaped(cell.value) for cell in row), strict=True))
            for row in rows
        ]
        assert found == by_json(out, table)
    assert [row[1] for row in book["columns"].iter_rows(min_row=2, values_only=True)] == [
        one.name for table in TABLES.values() for one in table.columns
    ]


def unescaped(value: Any) -> Any:
    """A text without the escapes of control characters (ISO/IEC 29500-1, ST_Xstring)."""
    from openpyxl.utils.escape import unescape

    return unescape(value) if isinstance(value, str) else value


without_libreoffice = pytest.mark.skipif(
    SOFFICE is None, reason="needs LibreOffice Calc: apt-get install libreoffice-calc-nogui"
)


def converted(files: Iterable[Path], folder: Path, *options: str) -> None:
    """Let LibreOffice read files and write all their sheets as CSV."""
    subprocess.run(
        [
            str(SOFFICE),
            f"-env:UserInstallation={(folder / 'profile').as_uri()}",
            "--headless",
            *options,
            "--convert-to",
            # Comma, quote, UTF-8, from line 1, values and not what is shown, all sheets: LibreOffice Help.
            "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1",
            "--outdir",
            str(folder / "read"),
            *map(str, files),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )


def as_shown(value: Any) -> Any:
    """A value as LibreOffice writes it: of a number fifteen digits, of a line's end one sign."""
    if isinstance(value, float):
        return f"{value:.15g}"
    return value.replace("\r", "\n") if isinstance(value, str) else value


def rows_read(file: Path, table: str, *, guarded: bool) -> list[dict[str, Any]]:
    """Rows that LibreOffice has written; `guarded`: its texts have the apostrophes of our CSV."""
    kinds = {one.name: one.kind for one in TABLES[table].columns}

    def as_ours(name: str, cell: str) -> str:
        if kinds[name] == "boolean":
            return cell.lower()
        return f"'{cell}" if cell and kinds[name] == "string" and not guarded else cell

    with file.open(encoding="utf-8", newline="") as text:
        rows = [{name: as_ours(name, cell) for name, cell in row.items()} for row in csv.DictReader(text)]
    return [{name: as_shown(value) for name, value in read_cells(table, row).items()} for row in rows]


def wanted_rows(out: Path, table: str) -> list[dict[str, Any]]:
    return [{name: as_shown(value) for name, value in row.items()} for row in by_json(out, table)]


@pytest.mark.libreoffice
@without_libreoffice
def test_libreoffice_reads_the_workbook_with_equal_values(out: Path, tmp_path: Path) -> None:
    converted([out / "all.xlsx"], tmp_path)
    for table in TABLES:
        found = rows_read(tmp_path / "read" / f"all-{table}.csv", table, guarded=False)
        assert found == wanted_rows(out, table)


@pytest.mark.libreoffice
@without_libreoffice
def test_libreoffice_reads_the_csv_and_runs_nothing(out: Path, tmp_path: Path) -> None:
    # The last option has formulas evaluated, "=1+1" is read as 2 with it: what the apostrophe is for.
    options = "--infilter=CSV:44,34,76,1,,0,false,true,false,false,false,0,true"
    converted([out / f"{table}.csv" for table in TABLES], tmp_path, options)
    for table in TABLES:
        [file] = (tmp_path / "read").glob(f"{table}*.csv")
        assert rows_read(file, table, guarded=True) == wanted_rows(out, table)
