"""Holds the measured coverage of `assistant/` to its floor: `python -m tests.coverage_floor coverage.json`.

Statements and branches each have a floor of their own; coverage.py itself knows only one for both together.
"""

import json
import sys
from collections.abc import Mapping
from pathlib import Path

FLOOR_PCT = {"statements": 97.0, "branches": 93.0}
"""Least share (%) of each that the tests must run."""


def percentages(totals: Mapping[str, int]) -> dict[str, float]:
    """Share (%) of statements and of branches, from the `totals` of `coverage json`."""
    return {
        "statements": 100.0 * totals["covered_lines"] / totals["num_statements"],
        "branches": 100.0 * totals["covered_branches"] / totals["num_branches"],
    }


def main(file: Path) -> int:
    """Print both shares; 1 where one is below its floor, or nothing was measured."""
    if not file.is_file():
        print(f"{file} is missing: the tests did not get as far as their report; run them again.")
        return 1
    found = percentages(json.loads(file.read_text(encoding="utf-8"))["totals"])
    for what, pct in found.items():
        print(f"{what}: {pct:.2f} % (floor {FLOOR_PCT[what]:g} %)")
    return int(any(pct < FLOOR_PCT[what] for what, pct in found.items()))


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
