"""The layout: what is where, and how much of it. The direction of the imports is held by `lint-imports`."""

from collections import Counter, defaultdict
from pathlib import PurePath

import pytest

from tests.test_project import TRACKED, texts

MOST_FILES = 15
MOST_AT_THE_ROOT = 6

# A command of the program has the name of what it prints, a fake that of what it stands in for.
MAY_SHARE_A_NAME = ("assistant/cli/", "assistant/testing/")


def test_no_folder_holds_more_files_than_one_takes_in() -> None:
    counts = Counter(PurePath(name).parent.as_posix() for name in TRACKED)
    assert {folder: count for folder, count in counts.items() if count > MOST_FILES} == {}, "make a package"


def test_the_root_of_the_package_stays_small() -> None:
    modules = [
        name
        for name in TRACKED
        if name.startswith("assistant/") and name.count("/") == 1 and name.endswith(".py")
    ]
    assert len(modules) <= MOST_AT_THE_ROOT, "it belongs into a package"


def test_no_two_packages_have_a_module_of_the_same_name() -> None:
    found = defaultdict(list)
    for name in TRACKED:
        path = PurePath(name)
        ours = name.startswith("assistant/") and path.suffix == ".py" and not path.name.startswith("__")
        if ours and not name.startswith(MAY_SHARE_A_NAME):
            found[path.name].append(name)
    assert [names for names in found.values() if len(names) > 1] == [], "a name should say which it is"


def test_no_module_is_over_400_lines() -> None:
    long = {name: lines for name, text in texts("assistant/*.py") if (lines := len(text.splitlines())) > 400}
    assert long == {}, "split it by purpose"


@pytest.mark.parametrize("package", ["assistant", "tests"])
def test_every_folder_with_modules_is_a_package(package: str) -> None:
    folders = {
        PurePath(name).parent.as_posix()
        for name in TRACKED
        if name.startswith(f"{package}/") and name.endswith(".py")
    }
    assert [folder for folder in sorted(folders) if f"{folder}/__init__.py" not in TRACKED] == []
