"""The service as setup.sh fills it in, held against systemd's own checks where they are here."""

import re
import shutil
import subprocess
from configparser import ConfigParser
from pathlib import Path

import pytest

from assistant.app.pages.wall_page import HOST, PORT
from tests.write_docs import ROOT

UNIT = subprocess.run(
    ["bash", str(ROOT / "hardware/setup.sh"), "--print-service"],
    capture_output=True,
    text=True,
    check=True,
).stdout
ANALYZE = shutil.which("systemd-analyze")
needs_systemd = pytest.mark.skipif(ANALYZE is None, reason="systemd-analyze is not installed")


def printed(unit: str) -> str:
    """A unit as a station gets it, for the program in this folder."""
    command = ["bash", str(ROOT / "hardware/station.sh"), "print", unit, str(ROOT)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


BOARD = printed("crumbcall-board.service")
SCREEN = printed("crumbcall-screen.service")
SYNC = printed("crumbcall-sync.service")


def settings(section: str, unit: str = UNIT) -> dict[str, str]:
    """The last value of each setting of a section."""
    parser = ConfigParser(strict=False, interpolation=None, delimiters=("=",), comment_prefixes=("#",))
    parser.optionxform = str  # type: ignore[assignment, method-assign]
    parser.read_string(unit)
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


def test_after_a_kill_the_outputs_are_switched_off() -> None:
    after = settings("Service")["ExecStopPost"].split()
    assert after[1:] == ["-m", "assistant.app.setting_up.outputs_off", "/var/lib/crumbcall"]
    assert after[0].startswith("-")  # what fails there is no failure of the station


@pytest.mark.parametrize("unit", [UNIT, BOARD, SYNC], ids=["listen", "board", "sync"])
def test_who_reads_times_of_the_journal_knows_this_boot(unit: str) -> None:
    # the id of the boot is in /proc/sys, which ProcSubset=pid hides
    assert "ProcSubset" not in settings("Service", unit)


def test_the_page_on_the_wall_is_a_service_without_devices_for_this_machine_alone() -> None:
    board = settings("Service", BOARD)
    assert board["ExecStart"].split()[-1] == "board"
    assert (board["User"], board["PrivateDevices"], board["CapabilityBoundingSet"]) == (
        "crumbcall",
        "yes",
        "",
    )
    assert (board["IPAddressDeny"], board["IPAddressAllow"]) == ("any", "localhost")
    assert f"http://{HOST}:{PORT}/" in settings("Service", SCREEN)["ExecStart"]
    assert settings("Service", SCREEN)["User"] not in ("crumbcall", "root")


@needs_systemd
@pytest.mark.parametrize("unit", [UNIT, BOARD, SCREEN, SYNC], ids=["listen", "board", "screen", "sync"])
def test_systemd_verifies_the_units(tmp_path: Path, unit: str) -> None:
    file = tmp_path / "crumbcall-tried.service"
    programs = re.sub(r"^(ExecStart|ExecStopPost)=-?\S+", r"\1=/bin/true", unit, flags=re.MULTILINE)
    file.write_text(re.sub(r"^(Requires|After)=crumbcall.*$", "", programs, flags=re.MULTILINE))
    found = subprocess.run([str(ANALYZE), "verify", str(file)], capture_output=True, text=True, check=False)
    ours = [line for line in found.stderr.splitlines() if file.name in line]
    assert (found.returncode, ours) == (0, [])


@needs_systemd
@pytest.mark.parametrize("unit", [UNIT, BOARD, SYNC], ids=["listen", "board", "sync"])
def test_systemd_calls_the_units_safe(tmp_path: Path, unit: str) -> None:
    """At most 1.0 of systemd's ten points, counted in tenths; 0.7, 0.9 and 1.0 by systemd 252."""
    file = tmp_path / "crumbcall.service"
    file.write_text(unit)
    found = subprocess.run(
        [str(ANALYZE), "security", "--offline=true", "--threshold=10", "--no-pager", str(file)],
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
