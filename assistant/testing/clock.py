"""Contract check of `ports.Clock`; its fake is `clock.ScriptedClock`, which the program uses too."""

import math

from assistant.ports import Clock


def check_clock(clock: Clock, readings: int = 100) -> None:
    """Hold a clock to `ports.Clock`; AssertionError says what it breaks."""
    first = clock.monotonic()
    assert 0 <= first < math.inf, f"monotonic() returned {first!r}"
    last = first
    for _ in range(readings):
        now = clock.monotonic()
        assert now >= last, f"monotonic() went back from {last} to {now}"
        last = now
    wall = clock.wall()
    assert math.isfinite(wall), f"wall() returned {wall!r}"
    assert isinstance(clock.wall_trusted(), bool), f"wall_trusted() returned {clock.wall_trusted()!r}"
    boot = clock.boot_id()
    assert boot, f"boot_id() returned {boot!r}"
    assert clock.boot_id() == boot, f"boot_id() changed from {boot!r} to {clock.boot_id()!r}"
