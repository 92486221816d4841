"""What the recipe of the card image says to who gives it something else. Building one takes too long here."""

import subprocess
from pathlib import Path

import pytest

from tests.write_docs import ROOT


def build(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the recipe."""
    command = ["bash", str(ROOT / "hardware/image/build.sh"), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


USAGE = "Usage: sudo bash hardware/image/build.sh IMAGE"


def test_help_is_no_mistake() -> None:
    found = build("--help")
    assert (found.returncode, found.stderr) == (0, "")
    assert found.stdout.startswith(USAGE)


@pytest.mark.parametrize("words", [(), ("--key", "key.pub")], ids=["nothing", "an option"])
def test_without_an_image_it_says_how_it_is_given(words: tuple[str, ...]) -> None:
    found = build(*words)
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.startswith(USAGE)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("folder",), "image: found 'folder', allowed are --key and --system; leave it out."),
        (("--key",), "image: found '--key' with nothing behind it; name a file or folder there."),
    ],
)
def test_what_it_does_not_know_is_told_in_a_line(tmp_path: Path, words: tuple[str, ...], line: str) -> None:
    found = build(str(tmp_path / "card.img"), *words)
    assert (found.returncode, found.stdout, found.stderr) == (2, "", f"{line}\n")
    assert not (tmp_path / "card.img").exists()


def test_no_image_is_begun_without_the_right_or_a_key_that_is_one(tmp_path: Path) -> None:
    found = build(str(tmp_path / "card.img"), "--key", str(tmp_path / "no.pub"))
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.startswith("image: found ")
    assert len(found.stderr.splitlines()) == 1
    assert not (tmp_path / "card.img").exists()
