"""What kinds of timers there are, and all that differs from one kind to another: one row per kind."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules

TimerKind = Literal["mix", "rest", "named", "cook", "tray", "prep"]

LAST_MINUTE_S = 60.0
TASTE_S = 60.0
"""One piece of a shape in the water is tasted this long before its time is up (s)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A timer of the batch itself: one at a time runs, under the name of its kind; the next step ends it."""

    phase: Phase
    """Phase that lasts as long as the timer."""
    waits: str
    """Announcement while the next step is to wait for it."""
    rings: str
    """Announcement when it is up and the crumb is due; elsewhere it rings as any timer does."""
    rings_late: str
    """The same, when it has been up for a while."""
    rings_prep: str | None = None
    """The same, where the prep team is told of it too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """What is particular about a kind of timer."""

    urgency: int
    """Order of what is up at once, 0 first: pasta in the water is lost first, then an overmixed dough."""
    interval: Interval | None = None
    """Set for a timer of the batch itself."""
    by_name: bool = True
    """Whether the cook can stop it or give it time. The clock of a tray is meant only where it rings."""
    lead_s: Callable[[BatchRules], float] = lambda rules: rules.warn_s
    """How long before its end (s) it is announced."""
    announced: Literal["always", "in_a_batch", "as_before"] = "as_before"
    """When one that gets more time is announced before its end: always, in a batch, or where it was to be
    before."""
    warns: str = "mix_warning"
    """Announcement before its end."""
    warns_early: str | None = None
    """Announcement of a call that comes before the last one."""
    rings: str = "timer_rings"
    """Announcement when it is up."""
    rings_late: str | None = "timer_rings_late"
    """Announcement when it has been up for a while; None: the same as before."""
    off: str = "got_it"
    """Announcement when the cook has heard it."""
    left: tuple[str, str] = ("time_left", "time_left_unsure")
    """Announcements of what is left: certain, and after a power cut of unknown length."""
    next_step: str = "next_got_it"
    """Announcement of what to do about it while it rings."""
    pause: int = 1
    """Pause between two calls, in `ring_every_s`. A tray that is over its time calls for hours if it must."""
    prep: bool = False
    """Whether the prep team is told of it, where the kitchen wants that."""


TIMER_KINDS: dict[TimerKind, Traits] = {
    "mix": Traits(
        urgency=1,
        interval=Interval(
            phase=Phase.MIXING, waits="next_wait_mix", rings="mix_rings", rings_late="mix_rings_late"
        ),
        announced="in_a_batch",
    ),
    "rest": Traits(
        urgency=2,
        interval=Interval(
            phase=Phase.RESTING,
            waits="next_wait_rest",
            rings="rest_rings",
            rings_late="rest_rings_late",
            rings_prep="rest_rings_prep",
        ),
        lead_s=lambda _: LAST_MINUTE_S,
        warns="rest_warning",
        warns_early="rest_half",
        prep=True,
    ),
    "named": Traits(urgency=3),
    "cook": Traits(
        urgency=0,
        lead_s=lambda _: TASTE_S,
        announced="always",
        warns="taste_one",
        rings="cook_rings",
        rings_late="cook_rings_late",
    ),
    # A dough that rests a little longer is none the worse.
    "prep": Traits(urgency=4, rings="prep_rings"),
    "tray": Traits(
        urgency=5,
        by_name=False,
        lead_s=lambda rules: rules.tray_warn_s,
        warns="tray_warning",
        rings="tray_rings",
        rings_late=None,
        off="got_it_tray",
        left=("tray_left", "tray_left_unsure"),
        next_step="next_tray",
        pause=4,
    ),
}

INTERVALS: tuple[str, ...] = tuple(kind for kind, traits in TIMER_KINDS.items() if traits.interval)
"""Names of the timers of the batch itself."""


_DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
PREP_NAMES: tuple[str, ...] = tuple(f"prep {digit}" for digit in _DIGITS)
"""Names of the prep team's rests, which run beside the batch."""


def tray_name(batch: int, tray: int) -> str:
    """Name of a tray's clock; no cook can say it, so it can't be stopped or given time by name."""
    return f"tray {batch}.{tray}"


def tray_of(name: str) -> tuple[int, int]:
    """Numbers of batch and tray, from the name of a tray's clock."""
    batch, tray = name.removeprefix("tray ").split(".")
    return int(batch), int(tray)
