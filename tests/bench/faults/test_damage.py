"""A short form of the damage table: nothing is silently wrong."""

from pathlib import Path

from tests.bench.faults.damage import measured


def test_no_flip_and_no_cut_is_silently_wrong(tmp_path: Path) -> None:
    found = measured(30, 100, "short", tmp_path)
    assert [(row.where, row.what, row.examples) for row in found if row.wrong] == []
    assert sum(row.told for row in found) > 10
    flips = [row for row in found if row.what == "one bit"]
    assert sum(row.saved for row in flips) >= 0.98 * sum(row.of for row in flips)
