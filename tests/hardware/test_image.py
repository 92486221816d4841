"""What the recipe of the card image says to who gives it something else. Building one takes too long here."""

import subprocess
from pathlib import Path

import pytest

from tests.write_docs import ROOT


def build(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the recipe."""
    command = ["bash", str(ROOT / "hardware/image/build.sh"), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("words", [(), ("--help",)], ids=["nothing", "an option"])
def test_without_an_image_it_says_how_it_is_given(words: tuple[str, ...]) -> None:
    found = build(*words)
    assert found.returncode == 2
    assert found.stdout.startswith("Usage: sudo bash hardware/image/build.sh IMAGE")


def test_no_image_is_begun_without_a_system_or_the_right_to_make_one(tmp_path: Path) -> None:
    found = build(str(tmp_path / "card.img"), str(tmp_path))
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.startswith("image: found ")
    assert len(found.stderr.splitlines()) == 1
    assert not (tmp_path / "card.img").exists()
