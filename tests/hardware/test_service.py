"""The service as setup.sh fills it in, held against systemd's own checks where they are here."""

import re
import shutil
import subprocess
from configparser import ConfigParser
from pathlib import Path

import pytest

from tests.write_docs import ROOT

UNIT = subprocess.run(
    ["bash", str(ROOT / "hardware/setup.sh"), "--print-service"],
    capture_output=True,
    text=True,
    check=True,
).stdout
ANALYZE = shutil.which("systemd-analyze")
needs_systemd = pytest.mark.skipif(ANALYZE is None, reason="systemd-analyze is not installed")


def settings(section: str) -> dict[str, str]:
    """The last value of each setting of a section."""
    parser = ConfigParser(strict=False, interpolation=None, delimiters=("=",), comment_prefixes=("#",))
    parser.optionxform = str  # type: ignore[assignment, method-assign]
    parser.read_string(UNIT)
    return dict(parser[section])


def test_the_unit_is_filled_in() -> None:
    assert not re.search(r"@[A-Z]+@", UNIT)
    start = settings("Service")["ExecStart"].split()
    assert Path(start[0]) == ROOT / ".venv/bin/crumbcall"
    assert start[-1] == "listen"


def test_the_unit_is_offline_and_owns_nothing() -> None:
    service = settings("Service")
    assert service["PrivateNetwork"] == "yes"
    assert service["User"] == "crumbcall"
    assert service["ProtectHome"] == "yes"
    assert service["CapabilityBoundingSet"] == ""
    assert service["ProtectSystem"] == "strict"
    assert service["DevicePolicy"] == "closed"
    allowed = set(re.findall(r"^DeviceAllow=(\S+) rw$", UNIT, re.MULTILINE))
    printers = {"char-usb", "char-usb_device", "char-ttyUSB", "char-ttyACM"}
    assert allowed == {"char-alsa", "char-gpiochip", "char-i2c", "char-spi", "char-input"} | printers


def test_the_unit_lets_callbacks_be_made() -> None:
    # cffi makes code for callbacks as it runs, PortAudio's stream and espeak-ng's voice need them
    assert settings("Service")["MemoryDenyWriteExecute"] == "no"


@needs_systemd
@pytest.mark.skipif(not (ROOT / ".venv/bin/crumbcall").is_file(), reason="it is not set up in .venv")
def test_systemd_verifies_the_unit(tmp_path: Path) -> None:
    file = tmp_path / "crumbcall.service"
    file.write_text(UNIT)
    found = subprocess.run([str(ANALYZE), "verify", str(file)], capture_output=True, text=True, check=False)
    ours = [line for line in found.stderr.splitlines() if "crumbcall.service" in line]
    assert (found.returncode, ours) == (0, [])


@needs_systemd
def test_systemd_calls_the_unit_safe(tmp_path: Path) -> None:
    file = tmp_path / "crumbcall.service"
    file.write_text(UNIT)
    found = subprocess.run(
        [str(ANALYZE), "security", "--offline=true", "--threshold=20", "--no-pager", str(file)],
        capture_output=True,
        text=True,
        check=False,
    )
    if "Unknown" in found.stderr or "unrecognized" in found.stderr:
        pytest.skip("this systemd can't score a file")
    assert found.returncode == 0, found.stdout[-300:]


@pytest.mark.skipif(Path("/run/systemd/system").is_dir(), reason="systemd runs this machine")
@pytest.mark.parametrize("option", ["--station", "--service", "--uninstall"])
def test_without_systemd_a_station_is_refused_before_anything_is_installed(option: str) -> None:
    told = subprocess.run(
        ["bash", str(ROOT / "hardware/setup.sh"), option], capture_output=True, text=True, check=False
    )
    assert (told.returncode, told.stdout) == (2, "")
    assert told.stderr == (
        "station: found no systemd that runs this machine; leave out --station and start "
        ".venv/bin/crumbcall listen your own way.\n"
    )
