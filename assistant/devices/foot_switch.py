"""The foot switch: press to listen, a long press silences what rings, two presses say it again.

`FootSwitch` is pure: it gets whether the switch is down, and when. Law: a switch that is down at the start or
for over `STUCK_S` is stuck; it is ignored until it comes up, and meanwhile the station listens as if there
were none.
"""

import threading
from collections.abc import Callable
from enum import Enum
from typing import Protocol

BOUNCE_S = 0.03
"""A contact that closes or opens flutters for less than this (s); common practice, no source."""
LONG_S = 1.0
"""Held this long (s) it silences."""
TWICE_S = 0.5
"""A press within this time (s) after a short one came up makes two."""
STUCK_S = 10.0
"""Held this long (s), something must be on it: it is stuck."""
LOOK_S = 0.02
"""How often the switch is polled (s): a polled level can't be missed as an edge can."""
RETRY_S = 5.0
"""How often to try to get back one that is gone (s)."""


class Press(Enum):
    """What the cook's foot means."""

    LISTEN = "listen"
    SILENCE = "silence"
    AGAIN = "again"
    STUCK = "stuck"
    LOST = "lost"
    WORKS = "works"


class FootSwitch:
    """Turns the switch's level into presses; `listen_s`: how long it listens after the foot came up (s)."""

    def __init__(self, down: bool, now: float, *, listen_s: float) -> None:
        self._listen_s = listen_s
        self._down = down
        self._changed = now
        self._short_until = float("-inf")
        self._open_until = float("-inf")
        self._silenced = False
        self.stuck = down

    def hears(self, now: float) -> bool:
        """Whether the station shall listen to what is said at `now` (s)."""
        return self.stuck or self._down or now < self._open_until

    def look(self, down: bool, now: float) -> list[Press]:
        """The switch is down or up at `now` (s): returns what that means.

        Call often: it finds long presses.
        """
        if down != self._down:
            if now - self._changed < BOUNCE_S:
                return []
            before, self._changed, self._down = self._changed, now, down
            return self._pressed(now) if down else self._released(now, now - before)
        return self._held(now - self._changed) if down and not self.stuck else []

    def _pressed(self, now: float) -> list[Press]:
        self._silenced = False
        if now < self._short_until:
            self._short_until = float("-inf")
            return [Press.AGAIN]
        return [Press.LISTEN]

    def _released(self, now: float, held_s: float) -> list[Press]:
        if self.stuck:
            self.stuck = False
            return [Press.WORKS]
        self._open_until = now + self._listen_s
        self._short_until = now + TWICE_S if held_s < TWICE_S else float("-inf")
        return []

    def _held(self, held_s: float) -> list[Press]:
        if held_s >= STUCK_S:
            self.stuck = True
            return [Press.STUCK]
        if held_s >= LONG_S and not self._silenced:
            self._silenced = True
            return [Press.SILENCE]
        return []


class Switch(Protocol):
    """Something that is down or up."""

    def down(self) -> bool:
        """Whether it is pressed now; DeviceError where it is gone."""

    def close(self) -> None:
        """Let it go."""


class SwitchWatch:
    """A worker that polls a switch and calls `act` with what it means; a lost switch is tried again.

    `alive` is called at every look: who does not call hangs in a driver.
    `turned` is called when it begins or ceases to hear. `hears` may be asked from any thread.
    """

    def __init__(
        self,
        open_switch: Callable[[], Switch],
        act: Callable[[Press], None],
        turned: Callable[[], None],
        now: Callable[[], float],
        *,
        listen_s: float,
        alive: Callable[[], None] = lambda: None,
    ) -> None:
        self._alive = alive
        self._open = open_switch
        self._act = act
        self._turned = turned
        self._now = now
        self._listen_s = listen_s
        self._foot: FootSwitch | None = None

    def hears(self) -> bool:
        """Whether the station shall listen now; without a working switch it always does."""
        foot = self._foot
        return foot is None or foot.hears(self._now())

    def run(self, stop: threading.Event) -> None:
        """Poll until stopped."""
        lost = False
        while not stop.is_set():
            try:
                switch = self._open()
                try:
                    if lost:
                        self._act(Press.WORKS)
                    lost = False
                    self._watch(switch, stop)
                finally:
                    self._foot = None
                    switch.close()
            except Exception:  # drivers raise what they like
                if not lost:
                    self._act(Press.LOST)
                    self._turned()
                lost = True
                self._alive()
                stop.wait(RETRY_S)

    def _watch(self, switch: Switch, stop: threading.Event) -> None:
        foot = FootSwitch(switch.down(), self._now(), listen_s=self._listen_s)
        if foot.stuck:
            self._act(Press.STUCK)
        self._foot = foot
        self._turned()
        heard = self.hears()
        while not stop.wait(LOOK_S):
            self._alive()
            for press in foot.look(switch.down(), self._now()):
                self._act(press)
            if self.hears() != heard:
                heard = not heard
                self._turned()
