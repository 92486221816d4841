"""A clock that a cook may tell the time: "it is ten past six", where there is no network to set it by."""

from datetime import UTC, datetime, tzinfo

from assistant.ports import Clock

SLACK_S = 900.0
"""A cook who reads a clock may be so much behind what is known (s)."""
_HALF_DAY_MIN = 720


class ToldClock:
    """A clock that a cook may tell the time, where its own is not set by anything better."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._ahead: float | None = None

    def tell(self, wall: float) -> None:
        """It is this wall time now (s since 1970)."""
        self._ahead = wall - self._clock.monotonic()

    def monotonic(self) -> float:
        """As of the clock itself."""
        return self._clock.monotonic()

    def wall(self) -> float:
        """Seconds since 1970, as something set it, else as it was told."""
        if self._ahead is None or self._clock.wall_trusted():
            return self._clock.wall()
        return self._clock.monotonic() + self._ahead

    def wall_trusted(self) -> bool:
        """Whether it was set or told."""
        return self._ahead is not None or self._clock.wall_trusted()

    def boot_id(self) -> str:
        """As of the clock itself."""
        return self._clock.boot_id()

    def read(
        self, hour: int, minute: int, after: float | None = None, zone: tzinfo | None = None
    ) -> float | None:
        """The wall time (s since 1970) that a cook reads from a clock of twelve hours; None: it is set.

        It is the first that is not before `after` (s since 1970; None: what the clock shows, which stood
        still without power), less `SLACK_S`. `zone`: the kitchen's; None for the machine's.
        """
        if self._clock.wall_trusted():
            return None
        wanted = (hour * 60 + minute) % _HALF_DAY_MIN
        least = (self._clock.wall() if after is None else after) - SLACK_S
        found = least + 60 * ((wanted - _minutes(least, zone)) % _HALF_DAY_MIN)
        # The hour may change on the way, in spring and in autumn.
        off = (wanted - _minutes(found, zone) + _HALF_DAY_MIN / 2) % _HALF_DAY_MIN - _HALF_DAY_MIN / 2
        found += 60 * off
        return found if found >= least else found + 60 * _HALF_DAY_MIN


def _minutes(wall: float, zone: tzinfo | None) -> float:
    """Minutes that a clock of twelve hours shows at a wall time, with their fraction."""
    shown = datetime.fromtimestamp(wall, UTC).astimezone(zone)
    return (shown.hour * 60 + shown.minute + (shown.second + shown.microsecond / 1e6) / 60) % _HALF_DAY_MIN
