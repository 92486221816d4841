"""Wall times of a boot whose clock was set only after its first events follow from the later ones. Pure."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TypeVar

from assistant.ports import Stamp

Event = TypeVar("Event")


def known_later(events: Iterable[tuple[Stamp, Event]]) -> list[tuple[Stamp, Event]]:
    """The events with the wall times that were not known yet when they were written.

    Within one boot station time and wall time differ by the same throughout, so that one stamp of a clock
    that was set tells it for those before. A boot whose clock was never set keeps what its clock showed.
    """
    found = list(events)
    ahead = dict[str, float]()
    for stamp, _ in found:
        if stamp.wall_trusted:
            ahead.setdefault(stamp.boot, stamp.wall - stamp.monotonic)

    def right(stamp: Stamp) -> Stamp:
        if stamp.wall_trusted or stamp.boot not in ahead:
            return stamp
        return replace(stamp, wall=stamp.monotonic + ahead[stamp.boot], wall_trusted=True)

    return [(right(stamp), event) for stamp, event in found]
