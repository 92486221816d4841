"""What runs before a commit and in CI: the arguments of `.ci/run`, the hooks, the coverage floor."""

import json
import re
import subprocess
from pathlib import Path

import pytest

from tests.coverage_floor import FLOOR_PCT, main, percentages

TOP = Path(__file__).parent.parent
CI = TOP / ".ci/run"


def run_ci(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", str(CI), *arguments], cwd="/", capture_output=True, text=True, check=False, timeout=10
    )


@pytest.mark.parametrize("arguments", [("--fast",), ("tests",), ("",), ("--help", "tests")])
def test_ci_refuses_what_it_does_not_know(arguments: tuple[str, ...]) -> None:
    found = run_ci(*arguments)
    assert (found.returncode, found.stdout) == (2, "")
    assert (
        found.stderr
        == f".ci/run: found '{' '.join(arguments)}', allowed is --help or nothing; leave it out.\n"
    )


def test_ci_explains_itself() -> None:
    found = run_ci("--help")
    assert (found.returncode, found.stderr) == (0, "")
    assert found.stdout.startswith("Usage: .ci/run [--help]\n")


def test_the_hooks_run_what_ci_runs_and_fetch_nothing() -> None:
    hooks = (TOP / ".pre-commit-config.yaml").read_text(encoding="utf-8")
    entries = re.findall(r"entry: (.+)", hooks)
    assert len(entries) == 5
    in_ci = CI.read_text(encoding="utf-8")
    assert [entry for entry in entries if not re.search(f" {re.escape(entry)}$", in_ci, re.MULTILINE)] == [
        ".venv/bin/python -m pytest -q tests/test_docs.py"
    ]
    assert re.findall(r"- repo: (.+)", hooks) == ["local"]


def totals(*, lines: int, branches: int) -> dict[str, int]:
    return {
        "covered_lines": lines,
        "num_statements": 1000,
        "covered_branches": branches,
        "num_branches": 200,
    }


def test_coverage_is_counted_apart_for_statements_and_branches() -> None:
    assert percentages(totals(lines=970, branches=180)) == {"statements": 97.0, "branches": 90.0}


@pytest.mark.parametrize(
    ("lines", "branches", "status"), [(970, 186, 0), (969, 200, 1), (1000, 185, 1), (0, 0, 1)]
)
def test_each_has_its_own_floor(
    lines: int, branches: int, status: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert FLOOR_PCT == {"statements": 97.0, "branches": 93.0}
    file = tmp_path / "coverage.json"
    file.write_text(json.dumps({"totals": totals(lines=lines, branches=branches)}), encoding="utf-8")
    assert main(file) == status
    assert f"statements: {lines / 10:.2f} % (floor 97 %)" in capsys.readouterr().out


def test_a_report_that_was_not_written_is_one_clear_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "coverage.json"
    assert main(file) == 1
    assert capsys.readouterr().out == (
        f"{file} is missing: the tests did not get as far as their report; run them again.\n"
    )
