"""What people get: wheel and source package, with the licence and what must be said about the weights."""

import hashlib
import tarfile
import tomllib
import zipfile
from email.parser import Parser
from pathlib import Path

import pytest
from hatchling.builders.sdist import SdistBuilder
from hatchling.builders.wheel import WheelBuilder

TOP = Path(__file__).parent.parent
LICENCE, NOTICE = TOP / "assistant/LICENSE", TOP / "assistant/NOTICE"

# Of the plain text at https://www.apache.org/licenses/LICENSE-2.0.txt
APACHE_2_SHA256 = "cfc7749b96f63bd31c3c42b5c471bf756814053e847c10f3eb003417bc523d30"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Files of a wheel built from this tree, by name."""
    folder = str(tmp_path_factory.mktemp("wheel"))
    [path] = WheelBuilder(str(TOP)).build(directory=folder, versions=["standard"])
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_the_licence_is_the_unmodified_text() -> None:
    assert hashlib.sha256(LICENCE.read_bytes()).hexdigest() == APACHE_2_SHA256


def test_the_notice_names_the_origin_of_the_weights_and_says_that_they_were_changed() -> None:
    notice = NOTICE.read_text(encoding="utf-8")
    for said in (
        "hama 1.7.0",
        "Apache License",
        "CHANGED",
        "kitchen.hama",
        "assistant/asr/weights/README.md",
    ):
        assert said in notice
    for name in ("mel_fb", "stft_real_kernel", "stft_imag_kernel"):  # as the card of the weights says
        assert name in notice
        assert name in (TOP / "assistant/asr/weights/README.md").read_text(encoding="utf-8")


def test_the_wheel_carries_the_licence_twice(wheel: dict[str, bytes]) -> None:
    # beside the code, where a cook's installation has it, and where tools look for it
    [metadata] = [name for name in wheel if name.endswith(".dist-info/METADATA")]
    licences = metadata.removesuffix("METADATA") + "licenses/"
    for path in (LICENCE, NOTICE):
        inside = path.relative_to(TOP).as_posix()
        assert wheel[inside] == wheel[licences + inside] == path.read_bytes()
    said = Parser().parsestr(wheel[metadata].decode())
    assert said["License-Expression"] == "Apache-2.0"
    assert said.get_all("License-File") == ["assistant/LICENSE", "assistant/NOTICE"]


def test_the_wheel_carries_what_the_program_reads(wheel: dict[str, bytes]) -> None:
    for folder in ("assistant", "grammar"):
        for path in (TOP / folder).rglob("*"):
            inside = path.relative_to(TOP).as_posix()
            if path.is_file() and path.suffix not in (".pyc", ".md"):
                assert inside.replace("grammar/", "assistant/_grammar/", 1) in wheel, inside


def test_the_wheel_carries_the_card_of_the_weights(wheel: dict[str, bytes]) -> None:
    assert "assistant/asr/weights/README.md" in wheel


def test_the_source_package_is_enough_to_build_and_test(tmp_path: Path) -> None:
    [path] = SdistBuilder(str(TOP)).build(directory=str(tmp_path))
    with tarfile.open(path) as archive:
        inside = {name.partition("/")[2] for name in archive.getnames()}
    assert {"assistant/LICENSE", "assistant/NOTICE", "README.md", "pyproject.toml"} <= inside
    assert {"hardware/setup.sh", "hardware/constraints.txt", "tests/conftest.py"} <= inside
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert set(project["license-files"]) <= inside
    assert any(name.startswith(".pictures/") for name in inside)
