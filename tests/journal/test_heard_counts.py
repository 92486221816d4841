"""Counts of hearing as files: numbers alone, a day a file, read again as they were written."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.errors import JournalError
from assistant.journal.heard_counts import (
    BANDS,
    QUARTER_S,
    Quarter,
    band_of,
    day_before,
    read_heard,
    total,
    write_day,
)

NOON = datetime(2026, 3, 10, 12, tzinfo=UTC).timestamp()


def quarter(start: float, *acted: int) -> Quarter:
    return Quarter(start, clock_set=True, noise_dbfs=-40.0, counts={"acted": acted})


def test_what_was_written_is_read(tmp_path: Path) -> None:
    day = [quarter(NOON, 1, 2, 3, 4, 0), quarter(NOON + QUARTER_S, 0, 0, 0, 1, 0)]
    write_day(tmp_path / "heard", day)
    assert read_heard(tmp_path / "heard", NOON, NOON + 3600) == day
    assert read_heard(tmp_path / "heard", NOON + 1, NOON + 3600) == day[1:]
    assert [file.name for file in (tmp_path / "heard").iterdir()] == ["2026-03-10.json"]


def test_a_span_over_midnight_reads_both_days(tmp_path: Path) -> None:
    late, early = NOON + 11.75 * 3600, NOON + 12 * 3600
    write_day(tmp_path, [quarter(late, 1)])
    write_day(tmp_path, [quarter(early, 2)])
    assert [one.start for one in read_heard(tmp_path, NOON, NOON + 24 * 3600)] == [late, early]


def test_nothing_was_counted(tmp_path: Path) -> None:
    assert read_heard(tmp_path / "none", NOON, NOON + 3600) == []


def test_the_file_holds_numbers_alone(tmp_path: Path) -> None:
    write_day(tmp_path, [quarter(NOON, 1, 0, 0, 0, 0)])
    (row,) = json.loads((tmp_path / "2026-03-10.json").read_text(encoding="utf-8"))
    assert row == {
        "start": NOON, "clock_set": True, "noise_dbfs": -40.0, "counts": {"acted": [1, 0, 0, 0, 0]}
    }  # fmt: skip


def test_a_damaged_file_is_one_line_and_does_not_stop_the_counting(tmp_path: Path) -> None:
    (tmp_path / "2026-03-10.json").write_text('[{"start": "noon"}]', encoding="utf-8")
    with pytest.raises(
        JournalError, match=r"2026-03-10\.json: these counts can't be read .* move the file away"
    ):
        read_heard(tmp_path, NOON, NOON + 1)
    assert day_before(tmp_path, NOON) == []


@pytest.mark.parametrize(
    ("ratio", "band"), [(None, 4), (-3.0, 0), (5.9, 0), (6.0, 1), (12.0, 2), (18.0, 3), (40.0, 3)]
)
def test_bands_of_speech_above_noise(ratio: float | None, band: int) -> None:
    assert band_of(ratio) == band


def test_counts_of_several_quarters_together() -> None:
    assert total([quarter(NOON, 1, 0, 2, 0, 0), quarter(NOON, 3)])["acted"] == (4, 0, 2, 0, 0)
    assert total([])["left_alone"] == (0,) * BANDS
