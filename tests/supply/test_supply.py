import re
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.supply.audit import verdict
from tests.supply.write_hashes import BUILDERS, FILES
from tests.test_project import PROJECT, TOP, declared, pins


@pytest.mark.parametrize(("name", "extras"), FILES.items())
def test_every_pin_has_its_hashes(name: str, extras: tuple[str, ...]) -> None:
    lines = (TOP / "hardware" / name).read_text(encoding="utf-8").replace("\\\n", "").splitlines()
    rows = [line for line in lines if not line.startswith("#")]
    found = {canonicalize_name(Requirement(row.partition("--hash")[0]).name): row for row in rows}
    assert all(re.search(r"==\S+.* --hash=sha256:[0-9a-f]{64}", row) for row in rows)
    for one, row in found.items():
        assert f"=={pins()[one]} " in row, "run `python -m tests.supply.write_hashes`"
    groups = declared()
    asked = [one for extra in ("", *extras) for one in groups[extra]] if extras else []
    builders = set(BUILDERS.split())
    assert ({canonicalize_name(one.name) for one in asked} or builders) <= found.keys()


def test_the_build_backend_is_installed_by_its_hash() -> None:
    backends = {Requirement(one).name for one in PROJECT["build-system"]["requires"]}
    assert backends <= set(BUILDERS.split())


def test_setting_up_installs_nothing_without_its_hash() -> None:
    setup = (TOP / "hardware/setup.sh").read_text(encoding="utf-8")
    lines = [line.strip() for line in setup.splitlines() if '"${install[@]}"' in line]
    assert len(lines) == 3
    for line in lines:  # the program itself is the one thing without: it is built from this folder
        assert "--require-hashes" in line or ("--no-deps --no-build-isolation" in line and "target" in line)


def answer(*skipped: str, **weak: str) -> dict[str, Any]:
    """pip-audit's JSON for libraries that it could not ask about, and those with a weakness."""
    found: list[dict[str, Any]] = [{"name": name, "skip_reason": "not found"} for name in skipped]
    found += [
        {"name": name, "version": "1.0", "vulns": [{"id": known, "fix_versions": ["1.1"]}] if known else []}
        for name, known in weak.items()
    ]
    return {"dependencies": found}


@pytest.mark.parametrize(
    ("found", "said", "status"),
    [
        (answer(a="", b=""), ["2 of 2 libraries audited, 0 weaknesses known."], 0),
        (answer("a", "b"), ["NOT AUDITED: no advisory source answered for any of 2 libraries."], 0),
        (answer("c", a=""), ["1 of 2 libraries audited, 0 weaknesses known.", "NOT AUDITED: c"], 0),
        (
            answer(a="X-1", b=""),
            ["a 1.0: X-1, mended in 1.1", "2 of 2 libraries audited, 1 weaknesses known."],
            1,
        ),
    ],
)
def test_what_was_not_audited_is_said(found: dict[str, Any], said: list[str], status: int) -> None:
    assert verdict(found) == (said, status)
