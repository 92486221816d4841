import threading
from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.devices.foot_switch import BOUNCE_S, LOOK_S, FootSwitch, Press, SwitchWatch
from assistant.errors import DeviceError

LISTEN, SILENCE, AGAIN = Press.LISTEN, Press.SILENCE, Press.AGAIN
STUCK, LOST, WORKS = Press.STUCK, Press.LOST, Press.WORKS


def trod(*downs: tuple[float, float], until: float) -> list[tuple[float, Press]]:
    """Presses, with when they were found, of a foot that is down in these stretches (s)."""
    foot, found = FootSwitch(False, 0.0, listen_s=8.0), list[tuple[float, Press]]()
    for step in range(1, round(until / LOOK_S)):
        now = step * LOOK_S
        found += [(round(now, 2), press) for press in foot.look(any(a <= now < b for a, b in downs), now)]
    return found


@pytest.mark.parametrize(
    ("downs", "found"),
    [
        ([(1.0, 1.3)], [(1.0, LISTEN)]),
        ([(1.0, 1.3), (1.5, 1.7)], [(1.0, LISTEN), (1.5, AGAIN)]),
        ([(1.0, 1.3), (1.5, 1.7), (1.9, 2.1)], [(1.0, LISTEN), (1.5, AGAIN), (1.9, AGAIN)]),
        ([(1.0, 1.3), (2.0, 2.3)], [(1.0, LISTEN), (2.0, LISTEN)]),
        ([(1.0, 1.8), (2.0, 2.2)], [(1.0, LISTEN), (2.0, LISTEN)]),
        ([(1.0, 4.0)], [(1.0, LISTEN), (2.0, SILENCE)]),
        ([(1.0, 12.0)], [(1.0, LISTEN), (2.0, SILENCE), (11.0, STUCK), (12.0, WORKS)]),
        (
            [(1.0, 12.0), (13.0, 13.2)],
            [(1.0, LISTEN), (2.0, SILENCE), (11.0, STUCK), (12.0, WORKS), (13.0, LISTEN)],
        ),
    ],
)
def test_presses(downs: list[tuple[float, float]], found: list[tuple[float, Press]]) -> None:
    assert trod(*downs, until=20.0) == found


def test_a_fluttering_contact_is_one_press() -> None:
    foot = FootSwitch(False, 0.0, listen_s=8.0)
    found = list[Press]()
    closes = ((1.0, True), (1.002, False), (1.005, True), (1.4, True))
    opens = ((1.401, False), (1.41, True), (1.415, False), (1.5, False))
    for at, down in (*closes, *opens):
        found += foot.look(down, at)
    assert found == [LISTEN]
    assert foot.hears(1.5)


def test_a_level_that_stays_after_fluttering_counts() -> None:
    foot = FootSwitch(False, 0.0, listen_s=8.0)
    assert foot.look(True, 1.0) == [LISTEN]
    assert foot.look(False, 1.0 + BOUNCE_S / 2) == []
    assert foot.look(False, 1.0 + BOUNCE_S * 2) == []
    assert not foot.hears(1.0 + BOUNCE_S * 2 + 8.0)


def test_it_hears_while_down_and_for_a_while_after() -> None:
    foot = FootSwitch(False, 0.0, listen_s=8.0)
    assert not foot.hears(0.5)
    foot.look(True, 1.0)
    assert foot.hears(5.0)
    foot.look(False, 5.0)
    assert foot.hears(12.9)
    assert not foot.hears(13.0)


def test_a_switch_that_is_down_at_the_start_is_stuck_and_all_is_heard() -> None:
    foot = FootSwitch(True, 0.0, listen_s=8.0)
    assert foot.stuck
    assert foot.look(True, 30.0) == []
    assert foot.hears(30.0)
    assert foot.look(False, 31.0) == [WORKS]
    assert not foot.hears(31.0)
    assert foot.look(True, 32.0) == [LISTEN]


@given(st.lists(st.tuples(st.floats(0.001, 15.0), st.booleans()), max_size=30))
def test_whatever_the_foot_does_presses_make_sense(steps: list[tuple[float, bool]]) -> None:
    foot, now, found = FootSwitch(False, 0.0, listen_s=8.0), 0.0, list[Press]()
    for seconds, down in steps:
        now += seconds
        found += foot.look(down, now)
    assert STUCK not in (foot.look(False, now + 1.0))
    for before, after in zip([None, *found], found, strict=False):
        if after is SILENCE:
            assert before in (LISTEN, AGAIN)
        if after is WORKS:
            assert before is STUCK
        if after is AGAIN:
            assert before in (LISTEN, AGAIN)


# --- the watch


class _Switch:
    """A switch with a script: down or up at each look, or gone."""

    def __init__(self, looks: Iterable[bool | None]) -> None:
        self.looks = iter(looks)
        self.closed = False

    def down(self) -> bool:
        look = next(self.looks)
        if look is None:
            raise DeviceError("The pedal is gone.")
        return look

    def close(self) -> None:
        self.closed = True


class _End(threading.Event):
    def __init__(self, waits: int) -> None:
        super().__init__()
        self.left = waits
        self.now = 0.0

    def wait(self, timeout: float | None = None) -> bool:
        self.now += timeout or 0.0
        self.left -= 1
        if self.left <= 0:
            self.set()
        return self.is_set()


def run(*switches: _Switch | None, waits: int) -> tuple[list[Press], list[bool]]:
    """What a watch reported, and whether it heard after each turn."""
    opened, presses, heard, end = iter(switches), list[Press](), list[bool](), _End(waits)

    def open_next() -> _Switch:
        switch = next(opened)
        if switch is None:
            raise DeviceError("There is no pedal.")
        return switch

    watch = SwitchWatch(
        open_next, presses.append, lambda: heard.append(watch.hears()), lambda: end.now, listen_s=0.1
    )
    watch.run(end)
    assert all(switch is None or switch.closed for switch in switches)
    return presses, heard


def test_a_press_opens_the_ears_for_a_while() -> None:
    assert run(_Switch([False, True, True, False, *[False] * 10]), waits=12) == (
        [LISTEN],
        [False, True, False],
    )


def test_a_pedal_that_is_pulled_out_is_reported_once_and_found_again() -> None:
    presses, heard = run(_Switch([False, None]), None, None, _Switch([False] * 5), waits=8)
    assert presses == [LOST, WORKS]
    assert heard == [False, True, False]


def test_a_pedal_that_is_not_there_at_the_start_is_reported_and_all_is_heard() -> None:
    assert run(None, None, None, waits=3) == ([LOST], [True])


def test_a_pedal_that_is_trodden_at_the_start_is_reported() -> None:
    assert run(_Switch([True] * 5), waits=4) == ([STUCK], [True])
