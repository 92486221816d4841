"""Supply, heat and card of the machine: what the kernel says, what is told of it, and when."""

from pathlib import Path
from queue import Queue

import pytest

from assistant.cli.check.machine import machine
from assistant.devices.machine_health import MachineHealth, read_health, throttled_bits
from assistant.station.alive.machine_watch import MachineWatch
from assistant.station.alive.vital_parts import Parts
from assistant.station.messages import Found, Lost, Message


@pytest.mark.parametrize(
    ("text", "bits"),
    [("50005\n", 0x50005), ("0x50000", 0x50000), ("throttled=0x0\n", 0), ("", None), ("no such", None)],
)
def test_the_bits_as_kernel_and_tool_write_them(text: str, bits: int | None) -> None:
    assert throttled_bits(text) == bits


def test_what_the_kernel_says_is_read(tmp_path: Path) -> None:
    bits = tmp_path / "get_throttled"
    bits.write_text("50005\n")
    for zone, temperature in (("thermal_zone0", "48312\n"), ("thermal_zone1", "61200\n"), ("cooling", "99")):
        (tmp_path / zone).mkdir()
        (tmp_path / zone / "temp").write_text(temperature)
    found = read_health(tmp_path, throttled=bits, thermal=tmp_path)
    assert (found.throttled, found.temperature_c, found.read_only) == (0x50005, 61.2, False)
    assert found.free_mb is not None
    assert found.free_mb > 0


def test_where_the_kernel_has_no_such_file_the_tool_is_asked(tmp_path: Path) -> None:
    gone = tmp_path / "gone"
    asked = read_health(gone, throttled=gone, thermal=gone, ask=lambda: "throttled=0x80000\n")
    assert asked == MachineHealth(throttled=0x80000)
    assert read_health(gone, throttled=gone, thermal=gone, ask=lambda: "") == MachineHealth()


@pytest.mark.parametrize(
    ("health", "wrong"),
    [
        (MachineHealth(), []),
        (MachineHealth(0, 60.0, 9000.0), []),
        (MachineHealth(throttled=1 << 0), ["power supply"]),
        (MachineHealth(throttled=1 << 16), ["power supply"]),
        (MachineHealth(throttled=1 << 1 | 1 << 18 | 1 << 19), []),
        (MachineHealth(throttled=1 << 2), ["cooling"]),
        (MachineHealth(throttled=1 << 3), ["cooling"]),
        (MachineHealth(temperature_c=80.0), ["cooling"]),
        (MachineHealth(temperature_c=79.9), []),
        (MachineHealth(free_mb=199.0), ["card"]),
        (MachineHealth(free_mb=9000.0, read_only=True), ["card"]),
        (MachineHealth(1, 90.0, 1.0), ["power supply", "cooling", "card"]),
    ],
)
def test_what_is_wrong(health: MachineHealth, wrong: list[str]) -> None:
    assert [*health.problems()] == wrong
    found = {one.part: one for one in machine(health)}
    assert [part for part, one in found.items() if not one.works] == wrong
    assert all(found[part].found == health.problems()[part] and found[part].do for part in wrong)


def test_check_says_only_what_this_machine_says() -> None:
    assert machine(MachineHealth()) == []
    assert [one.found for one in machine(MachineHealth(0, 51.4, 12_345.0))] == [
        "no under-voltage since it was switched on",
        "51 C",
        "12,345 MB free",
    ]


def test_the_cook_is_told_once_and_heat_must_be_well_below_before_it_is_over() -> None:
    inbox: Queue[Message] = Queue()
    temperatures = iter([70.0, 81.0, 82.0, 77.0, 76.0, 74.0, 77.0])
    parts = Parts(inbox, lambda: 0.0)
    watch = MachineWatch(lambda: MachineHealth(temperature_c=next(temperatures)), parts)
    for _ in range(7):
        watch.look()
    told = [inbox.get_nowait() for _ in range(inbox.qsize())]
    why = "the processor is too hot (81 C) and slows down; give it air"
    assert told == [Lost("cooling", why), Found("cooling")]


def test_what_is_wrong_at_the_start_is_told_with_all_else_that_is() -> None:
    inbox: Queue[Message] = Queue()
    parts = Parts(inbox, lambda: 0.0)
    watch = MachineWatch(lambda: MachineHealth(throttled=1), parts)
    watch.look(starting=True)
    watch.look()
    assert inbox.empty()
    assert [*parts.gone] == ["power supply"]
