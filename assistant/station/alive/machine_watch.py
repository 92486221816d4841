"""A worker that looks after the machine itself, and tells what is wrong with it once."""

import threading
from collections.abc import Callable

from assistant.devices.machine_health import MachineHealth
from assistant.station.alive.vital_parts import Parts

LOOK_EVERY_S = 60.0


class MachineWatch:
    """Tells `parts` of supply, cooling and card; `read` looks at the machine."""

    def __init__(self, read: Callable[[], MachineHealth], parts: Parts) -> None:
        self._read = read
        self._parts = parts
        self._wrong: frozenset[str] = frozenset()

    def look(self, *, starting: bool = False) -> None:
        """Look; at the start what is wrong is told with all else that is."""
        found = self._read().problems(self._wrong)
        for part, why in found.items():
            if starting:
                self._parts.missing(part, why)
            else:
                self._parts.lost(part, why)
        for part in self._wrong - found.keys():
            self._parts.found(part)
        self._wrong = frozenset(found)

    def run(self, stop: threading.Event) -> None:
        """Look until stopped."""
        while not stop.wait(LOOK_EVERY_S):
            self.look()
