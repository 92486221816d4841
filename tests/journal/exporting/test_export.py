"""An export is whole, exact, in open standards, and nothing that a cook wrote runs in a spreadsheet.

RFC 4180 (CSV), RFC 8259 (JSON), ISO 8601, Data Package and Table Schema 2.0 (Frictionless Data) are given
from memory; the signs that begin a formula are those of OWASP's page "CSV Injection".
"""

import json
import re
from contextlib import closing
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from assistant.clock import ScriptedClock
from assistant.errors import JournalError
from assistant.journal.exporting import spool as spool_module
from assistant.journal.exporting.descriptor import descriptor, schema_markdown
from assistant.journal.exporting.export import DESCRIPTOR, export
from assistant.journal.exporting.tables import TABLES
from assistant.journal.exporting.text_files import time_text
from assistant.journal.exporting.whole_files import whole_files
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from tests.journal.day import spoiled
from tests.journal.exporting.record import HOSTILE, STOCK, by_csv, by_json, exported, write_record


@pytest.fixture
def path(path: Path) -> Path:
    write_record(path)
    return path


@pytest.fixture
def folder(path: Path, tmp_path: Path) -> Path:
    """An export in both forms."""
    exported(path, tmp_path / "out")
    exported(path, tmp_path / "out", "jsonl", force=True)
    return tmp_path / "out"


# --- what is in it


def test_the_day_is_told_in_figures(folder: Path) -> None:
    [batch, *_] = by_json(folder, "batches")
    assert (batch["batch"], batch["lot"], batch["die"], batch["outcome"]) == (1, "12", "rigatoni", "closed")
    assert (batch["flour_g"], batch["water_g"], batch["scrap_g"]) == (1500.0, 465.0, 12.5)
    assert (batch["hydration_pct"], batch["trays"], batch["portions"]) == (31.0, 2, 9)
    pours = [one for one in by_json(folder, "pours") if one["batch"] == 1]
    assert [(one["kind"], one["told_g"], one["grams"], one["taken_back"]) for one in pours] == [
        ("flour", 1500.0, 1500.0, False),
        ("water", 335.0, 333.3, False),
        ("water", 50.0, 50.0, True),
        ("water", 131.7, 131.7, False),
    ]
    assert [(one["verdict"], one["taken_back"]) for one in by_json(folder, "crumbs")][:2] == [
        ("dry", False),
        ("ready", False),
    ]
    timers = [(one["name"], one["seconds"], one["end"]) for one in by_json(folder, "timers")]
    assert timers == [("mix", 120.0, "next step"), ("rest", 600.0, "next step"), ("sauce", 600.0, None)]
    first, second = by_json(folder, "trays")
    # Told cold at 1500 s, the first water at 60 s: 1440 s of the four hours, US Food Code 3-501.14(B).
    assert (first["took_s"], first["limit_s"], first["in_time"]) == (1440.0, 14_400.0, True)
    assert (second["cold_at"], second["in_time"]) == (None, None)
    assert [one["grams"] for one in by_json(folder, "scrap")] == [12.5]
    lots = {one["lot"]: one for one in by_json(folder, "lots")}
    assert (lots["12"]["flour_g"], lots["12"]["delivered_kg"], lots["12"]["moisture_pct"]) == (
        1500.0,
        25.0,
        13.7,
    )


def test_a_time_that_is_not_certain_says_so(folder: Path) -> None:
    assert [one["opened_certain"] for one in by_json(folder, "batches")] == [True] + [False] * len(HOSTILE)
    assert {one["lot"]: one["used_certain"] for one in by_json(folder, "lots")}["12"] is True


@pytest.mark.parametrize(
    ("wall", "text"),
    [
        # The hour that comes twice: the Central European clock goes back on 2026-10-25 at 01:00 UTC.
        (1_792_889_999.5, "2026-10-25T02:59:59.500+02:00"),
        (1_792_890_000.0, "2026-10-25T02:00:00.000+01:00"),
    ],
)
def test_times_have_their_offset(wall: float, text: str) -> None:
    assert time_text(wall, ZoneInfo("Europe/Rome")) == text


# --- how it is written


def test_both_forms_are_read_back_equal(folder: Path) -> None:
    for table in TABLES:
        rows = by_json(folder, table)
        assert rows
        assert by_csv(folder, table) == rows


def test_what_cooks_wrote_comes_back_sign_by_sign(folder: Path) -> None:
    assert [one["recipe"] for one in by_csv(folder, "batches")[1:]] == list(HOSTILE)
    assert [one["lot"] for one in by_csv(folder, "batches")[1:]] == list(HOSTILE)


def test_no_text_of_a_csv_begins_a_formula(folder: Path) -> None:
    cells = [
        cell
        for table in TABLES
        for row in re.split(r"\r\n", (folder / f"{table}.csv").read_bytes().decode())
        for cell in re.findall(r'(?:^|,)("(?:[^"]|"")*"|[^",]*)', row)
    ]
    texts = [cell[1:] if cell.startswith('"') else cell for cell in cells]
    assert any("HYPERLINK" in text for text in texts)
    assert [text for text in texts if text.startswith(("=", "+", "@", "\t", "\r"))] == []
    assert [text for text in texts if text.startswith("-") and not re.fullmatch(r"-[\d.e+-]+", text)] == []


def test_lines_end_as_rfc_4180_has_it_and_the_text_is_utf_8(folder: Path) -> None:
    written = (folder / "batches.csv").read_bytes()
    assert written.endswith(b"\r\n")
    assert "crème brûlée ½ 粉".encode() in written
    assert not written.startswith(b"\xef\xbb\xbf")
    head = written.split(b"\r\n")[0].decode()
    assert tuple(head.split(",")) == TABLES["batches"].names


def test_rows_are_in_the_order_of_their_key(folder: Path) -> None:
    for name, table in TABLES.items():
        keys = [tuple(row[key] for key in table.key) for row in by_json(folder, name)]
        assert keys == sorted(set(keys))


# --- the schema


def test_the_schema_stands_beside_the_tables_and_fits_them(folder: Path) -> None:
    described = json.loads((folder / DESCRIPTOR).read_text(encoding="utf-8"))
    assert described == descriptor("jsonl")
    # The types, and the properties that must be there: Table Schema 2.0.
    kinds = {"string": str, "number": float, "integer": int, "boolean": bool, "datetime": str, "date": str}
    for resource in described["resources"]:
        rows = by_json(folder, resource["name"])
        fields = resource["schema"]["fields"]
        assert [field["name"] for field in fields] == list(rows[0])
        for row in rows:
            for field in fields:
                value, wanted = row[field["name"]], field.get("constraints", {})
                if value is None:
                    assert not wanted.get("required"), field["name"]
                    continue
                assert type(value) is kinds[field["type"]], field["name"]
                assert value in wanted.get("enum", [value])
        keys = [tuple(row[key] for key in resource["schema"]["primaryKey"]) for row in rows]
        assert len(set(keys)) == len(keys)


def test_every_number_with_a_unit_in_its_name_has_it_in_the_schema() -> None:
    # Unified Code for Units of Measure, case sensitive: gram, percent, second, degree Celsius, kilogram
    units = {"_g": "g", "grams": "g", "_pct": "%", "_s": "s", "seconds": "s"}
    units |= {"_c": "Cel", "_kg": "kg", "_um": "um"}
    for one in (one for table in TABLES.values() for one in table.columns):
        wanted = next((unit for end, unit in units.items() if one.name.endswith(end)), "")
        assert one.unit == (wanted if one.kind == "number" else ""), one.name
        assert f"| `{one.name}` | {one.kind} | {one.unit} |" in schema_markdown()


# --- whole or not at all


def test_nothing_is_written_over_unless_that_is_wanted(path: Path, folder: Path) -> None:
    (folder / "pours.csv").write_text("mine")
    with pytest.raises(JournalError, match=r"batches\.csv: it exists already; .*--force"):
        exported(path, folder)
    assert (folder / "pours.csv").read_text() == "mine"
    (folder / "notes.txt").write_text("mine too")
    exported(path, folder, force=True)
    assert (folder / "pours.csv").read_text().startswith("entry,")
    assert (folder / "notes.txt").read_text() == "mine too"


def test_a_folder_in_the_place_of_a_file_is_never_replaced(path: Path, folder: Path) -> None:
    (folder / "lots.csv").unlink()
    (folder / "lots.csv").mkdir()
    with pytest.raises(JournalError, match=r"lots\.csv: it exists already; name another place"):
        exported(path, folder, force=True)


def test_a_journal_that_breaks_off_leaves_what_was_there(path: Path, folder: Path) -> None:
    before = {one.name: one.read_bytes() for one in folder.iterdir()}
    spoiled(path, "UPDATE events SET body = '{' WHERE sequence = 30")
    with pytest.raises(JournalError, match="not what was written"):
        exported(path, folder, force=True)
    assert {one.name: one.read_bytes() for one in folder.iterdir()} == before


def test_a_disk_that_fills_up_leaves_what_was_there(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("before")

    def fill_the_disk() -> None:
        with whole_files([file], force=True) as [part]:
            part.write_text("half")
            raise OSError(28, "No space left on device")

    with pytest.raises(JournalError, match="can't be written"):
        fill_the_disk()
    assert [one.name for one in tmp_path.iterdir()] == ["a.csv"]
    assert file.read_text() == "before"


def test_no_room_for_the_rows_is_one_line() -> None:
    with spool_module.Spool() as spool:
        spool._db.execute("PRAGMA max_page_count = 40")

        def fill_the_disk() -> None:
            for number in range(100_000):
                spool.put(TABLES["lots"], {"lot": f"{number}", "batches": 1, "flour_g": 1.0})

        with pytest.raises(JournalError, match="TMPDIR"):
            fill_the_disk()


def test_a_file_is_no_folder(path: Path) -> None:
    with pytest.raises(JournalError, match="it is a file; name a folder"):
        exported(path, path)


def test_an_empty_journal_gives_tables_without_rows(tmp_path: Path) -> None:
    SqliteJournal.open(tmp_path / "empty.sqlite", ScriptedClock()).close()
    with JournalReader.open(tmp_path / "empty.sqlite") as journal:
        assert export(journal, tmp_path / "out", {}) == 0
    assert len((tmp_path / "out" / "pours.csv").read_text().splitlines()) == 1


def test_a_station_that_runs_meanwhile_is_not_in_the_way(path: Path, tmp_path: Path) -> None:
    with closing(SqliteJournal.open(path, ScriptedClock())):
        assert exported(path, tmp_path / "out") > len(STOCK)
