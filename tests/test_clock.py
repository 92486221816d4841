import ctypes
import time
import uuid
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from assistant import clock as clock_module
from assistant.clock import RTC_FROM, SCRIPTED_START, STA_UNSYNC, RealClock, ScriptedClock
from assistant.ports import Clock
from assistant.testing.clock import check_clock


@pytest.fixture
def synchronized(tmp_path: Path) -> Path:
    return tmp_path / "synchronized"


@pytest.mark.parametrize("make", [RealClock, ScriptedClock])
def test_every_clock_keeps_the_contract(make: type[RealClock] | type[ScriptedClock]) -> None:
    clock: Clock = make()
    check_clock(clock)


class _Backwards(ScriptedClock):
    def monotonic(self) -> float:
        self._monotonic -= 1
        return self._monotonic + 100


class _Restless(ScriptedClock):
    def boot_id(self) -> str:
        return str(uuid.uuid4())


class _Lost(ScriptedClock):
    def wall(self) -> float:
        return float("nan")


class _Nameless(ScriptedClock):
    def boot_id(self) -> str:
        return ""


class _Unsure(ScriptedClock):
    def wall_trusted(self) -> bool:
        return None  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (_Backwards, "went back"),
        (_Restless, "changed"),
        (_Lost, r"wall\(\) returned nan"),
        (_Nameless, "boot_id"),
        (_Unsure, "trusted"),
    ],
)
def test_the_contract_finds_a_broken_clock(make: type[ScriptedClock], said: str) -> None:
    with pytest.raises(AssertionError, match=said):
        check_clock(make())


def test_the_real_clock_counts_since_the_start_of_the_machine() -> None:
    # proc(5): the first figure of /proc/uptime is the uptime of the system, suspend included, in 1/100 s.
    before = float(Path("/proc/uptime").read_text().split()[0])
    now = RealClock().monotonic()
    after = float(Path("/proc/uptime").read_text().split()[0])
    assert before <= now <= after + 0.01


def test_the_real_clock_believes_what_the_machine_believes() -> None:
    before = time.time_ns() / 1e9
    assert before - 1e-3 <= RealClock().wall() <= time.time_ns() / 1e9 + 1e-3


def test_the_boot_id_is_the_kernels() -> None:
    # random(4): boot_id is a UUID made once a boot.
    named = RealClock().boot_id()
    assert str(uuid.UUID(named)) == named
    assert named == RealClock().boot_id()


def test_without_the_kernels_boot_id_no_two_processes_share_one(tmp_path: Path) -> None:
    missing = tmp_path / "none"
    named = RealClock(boot_file=missing).boot_id()
    assert named == RealClock(boot_file=missing).boot_id()
    clock_module._process_boot_id.cache_clear()  # as in a new process
    other = RealClock(boot_file=missing).boot_id()
    assert other.startswith("process-")
    assert other != named


@pytest.mark.parametrize("content", [b"", b"\n", b"\xff\xfe"])
def test_an_unreadable_boot_id_counts_as_none(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "boot_id"
    file.write_bytes(content)
    assert RealClock(boot_file=file).boot_id() == RealClock(boot_file=tmp_path / "none").boot_id()


class _Kernel:
    """adjtimex of a kernel whose clock has this status; state as adjtimex(2) returns it, 0 ok, 5 error."""

    def __init__(self, state: int, status: int) -> None:
        self.state, self.status = state, status

    def __call__(self, _name: None) -> "_Kernel":
        return self

    def adjtimex(self, pointer: Any) -> int:
        timex = pointer._obj
        assert timex.modes == 0, "it must not set anything"
        timex.status = self.status
        return self.state


@pytest.mark.parametrize(
    ("state", "status", "file_there", "trusted"),
    [
        (0, 0x2001, False, True),  # STA_PLL | STA_NANO: a time daemon set it
        (5, STA_UNSYNC, False, False),
        (5, STA_UNSYNC, True, True),  # hours ago, in this boot
        (-1, 0, False, False),  # not allowed to ask
        (-1, 0, True, True),
    ],
)
def test_the_wall_clock_is_trusted_when_a_server_set_it(
    monkeypatch: pytest.MonkeyPatch,
    synchronized: Path,
    state: int,
    status: int,
    file_there: bool,
    trusted: bool,
) -> None:
    monkeypatch.setattr(ctypes, "CDLL", _Kernel(state, status))
    if file_there:
        synchronized.touch()
    assert RealClock(synchronized=synchronized).wall_trusted() is trusted


def test_a_clock_that_was_set_once_in_this_boot_stays_trusted(
    monkeypatch: pytest.MonkeyPatch, synchronized: Path
) -> None:
    # chronyd, which leaves no file, sets the flag again when it has lost its sources.
    clock = RealClock(synchronized=synchronized)
    monkeypatch.setattr(ctypes, "CDLL", _Kernel(5, STA_UNSYNC))
    assert not clock.wall_trusted()
    monkeypatch.setattr(ctypes, "CDLL", _Kernel(0, 0x2001))
    assert clock.wall_trusted()
    monkeypatch.setattr(ctypes, "CDLL", _Kernel(5, STA_UNSYNC))
    assert clock.wall_trusted()


@pytest.mark.parametrize(
    ("there", "wall", "trusted"),
    [(True, RTC_FROM, True), (True, RTC_FROM - 1, False), (False, RTC_FROM, False)],
)
def test_a_battery_kept_clock_is_trusted_where_the_kitchen_says_so_and_it_was_ever_set(
    monkeypatch: pytest.MonkeyPatch,
    synchronized: Path,
    tmp_path: Path,
    there: bool,
    wall: float,
    trusted: bool,
) -> None:
    monkeypatch.setattr(ctypes, "CDLL", _Kernel(5, STA_UNSYNC))
    monkeypatch.setattr(RealClock, "wall", lambda _: wall)
    rtc = tmp_path / "rtc0"
    if there:
        rtc.touch()
    assert RealClock(synchronized=synchronized, rtc=rtc).wall_trusted() is trusted
    assert not RealClock(synchronized=synchronized).wall_trusted()


def test_without_adjtimex_the_wall_clock_is_not_trusted(
    monkeypatch: pytest.MonkeyPatch, synchronized: Path
) -> None:
    monkeypatch.setattr(ctypes, "CDLL", lambda _name: object())
    assert RealClock(synchronized=synchronized).wall_trusted() is False


def test_struct_timex_is_laid_out_as_the_kernels() -> None:
    # adjtimex(2) on a 64-bit machine: five fields before status, each aligned to 8 bytes; 208 bytes in all
    # (linux/timex.h, from memory).
    assert clock_module._Timex.status.offset == 40
    assert ctypes.sizeof(clock_module._Timex) >= 208


def test_a_scripted_clock_moves_only_when_told() -> None:
    clock = ScriptedClock()
    assert (clock.monotonic(), clock.wall()) == (0.0, SCRIPTED_START)
    clock.move(90)
    assert (clock.monotonic(), clock.wall()) == (90.0, SCRIPTED_START + 90)
    assert datetime.fromtimestamp(SCRIPTED_START, UTC) == datetime(2026, 1, 12, 7, tzinfo=UTC)


@pytest.mark.parametrize("seconds", [-1, float("inf"), float("nan")])
def test_a_scripted_clock_does_not_move_back_or_for_ever(seconds: float) -> None:
    clock = ScriptedClock()
    with pytest.raises(ValueError, match="give seconds that are zero or more"):
        clock.move(seconds)
    assert clock.monotonic() == 0.0


def test_a_reboot_starts_monotonic_time_anew_and_the_wall_goes_on() -> None:
    clock = ScriptedClock(boot="one")
    clock.move(100)
    clock.reboot("two", off_s=20, trusted=False)
    assert (clock.monotonic(), clock.wall(), clock.boot_id()) == (0.0, SCRIPTED_START + 120, "two")
    assert not clock.wall_trusted()
    clock.reboot("three")
    assert not clock.wall_trusted()


def test_the_wall_can_jump_under_a_scripted_clock() -> None:
    clock = ScriptedClock(monotonic=5)
    clock.set_wall(0.0)
    assert (clock.monotonic(), clock.wall()) == (5, 0.0)
