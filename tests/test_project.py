"""The project file, the documents and the tree as a whole."""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Iterator
from fnmatch import fnmatch
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
PROJECT: dict[str, Any] = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))

COMMANDS = (
    "bash hardware/setup.sh && .venv/bin/crumbcall rehearse",
    "bash hardware/setup.sh --dev && .venv/bin/python -m pytest",
)

# Files that hold no text, by pattern, each with why it can't be made from what is in the tree.
BINARY: dict[str, str] = {
    "assistant/asr/*.hama": "weights of the phoneme network",
    "assistant/asr/*.npz": "weights of the phoneme network",
    ".pictures/*.png": "photographs of the page on the wall",
    "tests/journal/before/*.db": "journals that earlier versions of the program wrote",
}

# What a tool makes is not kept.
GENERATED = ("*.pyc", "*.sqlite*", "*.egg-info/*", "build/*", "dist/*", "*.wav", "*.log", ".coverage")
KEPT = ("tests/data/*.wav",)

# Extras that the program itself never imports.
OF_THE_TESTS = ("dev", "korean")

# Modules other than the clock that read a clock or wait, and why.
CLOCKS: dict[str, str] = {
    "assistant/clock.py": "the only source of time",
    "assistant/app/budgets.py": "measures how long the machine takes",
}

# Split in two so that this file is not an offender itself.
UNFINISHED = re.compile("|".join(("TO" + "DO", "FIX" + "ME", "XX" + "X", "Co-" + "authored-by")))
MACHINE_PATH = re.compile(r"(?<![\w.~$}-])/(?:work|root|home|Users|mnt)/\w")

_tracked = subprocess.run(
    ["git", "-C", str(TOP), "ls-files", "-z", "--cached"], capture_output=True, text=True, check=False
).stdout.split("\0")
TRACKED = [name for name in _tracked if name and (TOP / name).is_file()]


def texts(*patterns: str) -> Iterator[tuple[str, str]]:
    """Tracked text files that fit one of the patterns, with their text."""
    for name in TRACKED:
        if any(fnmatch(name, pattern) for pattern in patterns) and not fits(name, BINARY):
            yield name, (TOP / name).read_text(encoding="utf-8")


def fits(name: str, patterns: Iterable[str]) -> bool:
    return any(fnmatch(name, pattern) for pattern in patterns)


def test_the_tree_is_known() -> None:
    if not TRACKED:
        pytest.skip("this is not a git checkout")
    assert "pyproject.toml" in TRACKED


# --- README, setting up


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_has_the_two_commands(command: str) -> None:
    # .ci/run takes them from there, each on a line of its own
    assert [line.strip() for line in README.splitlines()].count(command) == 1


def test_setting_up_explains_itself() -> None:
    answer = subprocess.run(
        ["bash", "hardware/setup.sh", "--help"], cwd=TOP, capture_output=True, text=True, check=True
    )
    assert "--dev" in answer.stdout
    assert COMMANDS[0] in answer.stdout


@pytest.mark.parametrize("option", ["--devel", "dev", ""])
def test_setting_up_refuses_a_wrong_option(option: str) -> None:
    answer = subprocess.run(
        ["bash", str(TOP / "hardware/setup.sh"), option], cwd="/", capture_output=True, text=True, check=False
    )
    assert (answer.returncode, answer.stdout) == (2, "")
    allowed = "--dev, --station, --uninstall, --make-wheels, --print-service and --help"
    assert answer.stderr == f"setup: found the option '{option}', allowed are {allowed}; leave it out.\n"


# --- dependencies


def pins() -> dict[str, str]:
    """Version of every distribution in the constraints, by its normal name."""
    lines = (TOP / "hardware/constraints.txt").read_text(encoding="utf-8").splitlines()
    found = [Requirement(line) for line in lines if line and not line.startswith("#")]
    assert all(str(one.specifier).startswith("==") for one in found)
    return {canonicalize_name(one.name): str(one.specifier).removeprefix("==") for one in found}


def declared() -> dict[str, list[Requirement]]:
    """Requirements of the project: those of the program under "", of each extra under its name."""
    extras: dict[str, list[str]] = PROJECT["project"]["optional-dependencies"]
    groups = {"": PROJECT["project"]["dependencies"], **extras}
    return {name: [Requirement(line) for line in lines] for name, lines in groups.items()}


def everything_needed() -> set[str]:
    """Normal names of what is installed with the program and all extras, as far as it is installed here."""
    found: set[str] = set()
    waiting = [one for group in declared().values() for one in group]
    while waiting:
        one = waiting.pop()
        name = canonicalize_name(one.name)
        if name in found or not (one.marker is None or one.marker.evaluate({"extra": ""})):
            continue
        found.add(name)
        try:
            waiting += [Requirement(line) for line in metadata.distribution(name).requires or []]
        except metadata.PackageNotFoundError:
            assert name in pins()
    return found


def test_everything_that_is_installed_is_pinned() -> None:
    assert everything_needed() - pins().keys() == set(), "see the head of hardware/constraints.txt"


def test_the_pins_are_what_the_project_file_allows() -> None:
    for one in (one for group in declared().values() for one in group):
        assert one.specifier.contains(pins()[canonicalize_name(one.name)]), one


def imported(text: str) -> set[str]:
    """Top-level names that a module's text imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            found |= {name.name.split(".")[0] for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("import_module"):
            found |= {str(arg.value) for arg in node.args if isinstance(arg, ast.Constant)}
    return found


@cache
def libraries(folder: str) -> set[str]:
    """Normal names of the distributions whose modules a folder imports."""
    owners = metadata.packages_distributions()
    found: set[str] = set()
    for _, text in texts(f"{folder}/*.py"):
        for module in imported(text):
            if module not in sys.stdlib_module_names and module not in ("assistant", "tests"):
                found |= {canonicalize_name(owner) for owner in owners.get(module, [module])}
    return found


def at_run_time() -> set[str]:
    """What the program always needs, and extras for parts that can be left out."""
    groups = (group for extra, group in declared().items() if extra not in OF_THE_TESTS)
    return {canonicalize_name(one.name) for group in groups for one in group}


def test_what_the_program_imports_is_declared() -> None:
    assert libraries("assistant") - at_run_time() == set(), "pyproject.toml: dependencies"


def test_what_the_tests_import_is_declared() -> None:
    allowed = {canonicalize_name(one.name) for group in declared().values() for one in group}
    groups: dict[str, list[str]] = PROJECT["dependency-groups"]
    allowed |= {canonicalize_name(Requirement(line).name) for lines in groups.values() for line in lines}
    assert libraries("tests") - allowed == set(), "pyproject.toml: optional-dependencies: dev"


def test_every_dependency_is_used() -> None:
    unused = at_run_time() - libraries("assistant")
    # gpiozero loads its driver by the name that the service gives it.
    drivers = set(re.findall(r"GPIOZERO_PIN_FACTORY=(\w+)", (TOP / "hardware/crumbcall.service").read_text()))
    assert unused - drivers == set(), "pyproject.toml: dependencies"


# --- the tree


def test_only_known_files_hold_no_text() -> None:
    binary = [name for name in TRACKED if b"\0" in (TOP / name).read_bytes() and not fits(name, BINARY)]
    assert binary == []


def test_nothing_that_a_tool_makes_is_kept() -> None:
    assert [name for name in TRACKED if fits(name, GENERATED) and not fits(name, KEPT)] == []


def test_nothing_is_left_unfinished() -> None:
    assert [f"{name}: {found[0]}" for name, text in texts("*") if (found := UNFINISHED.search(text))] == []


def test_no_path_of_one_machine_is_written_down() -> None:
    assert [f"{name}: {found[0]}" for name, text in texts("*") if (found := MACHINE_PATH.search(text))] == []


def test_paths_of_one_machine_are_found() -> None:
    for path in ("/work", "/root", "/home"):
        assert MACHINE_PATH.search(f"see {path}/main")
        assert MACHINE_PATH.search(f'("{path}/x")')
    assert not MACHINE_PATH.search("assistant/work/x ~/work/x $HOME/work/x home/root")


def test_the_code_is_python_3_11() -> None:
    assert PROJECT["project"]["requires-python"] == ">=3.11"
    assert PROJECT["tool"]["ruff"]["target-version"] == "py311"
    assert PROJECT["tool"]["mypy"]["python_version"] == "3.11"
    for name, text in texts("*.py"):
        ast.parse(text, name, feature_version=(3, 11))


# --- time


@pytest.mark.parametrize(
    "source",
    [
        "import time\ntime.time()",
        "import time\ntime.monotonic()",
        "from time import sleep\nsleep(1)",
        "from datetime import datetime\ndatetime.now()",
    ],
)
@pytest.mark.parametrize(
    "file", ["assistant/batch/decide/decide.py", "assistant/station/loop.py", "tests/test_x.py"]
)
def test_the_linter_bans_clocks(source: str, file: str) -> None:
    answer = subprocess.run(
        [
            sys.executable,
            "-m",
            "ruff",
            "check",
            "--no-cache",
            "--select",
            "TID251",
            "--stdin-filename",
            file,
            "-",
        ],
        input=source,
        cwd=TOP,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 1
    assert "TID251" in answer.stdout


def test_the_ban_is_on_and_only_named_drivers_are_spared() -> None:
    lint = PROJECT["tool"]["ruff"]["lint"]
    assert {"TID", "TID251"} & set(lint["select"])
    spared = {
        pattern for pattern, rules in lint["per-file-ignores"].items() if {"TID", "TID251"} & set(rules)
    }
    spared |= {name for name, text in texts("assistant/*.py") if re.search(r"noqa:[^\n]*TID251", text)}
    assert spared == CLOCKS.keys()
