"""All that the page on the wall is made from at one moment. Values only."""

from dataclasses import dataclass
from datetime import tzinfo
from typing import Literal

from assistant.batch.record.state import State
from assistant.station.practice import Practised

Hearing = Literal["hears", "waits", "speaks", "off", "lost", "loud", "keyboard"]
"""Whether the cook is heard: yes; after the foot switch; not while it speaks; switched off; no microphone;
too loud; at the keyboard."""


@dataclass(frozen=True, slots=True)
class LastWords:
    """What was heard and said last."""

    heard: str = ""
    """The sentence; empty: none yet."""
    understood: bool = True
    said: str = ""
    """What was answered, or said by itself."""
    question: str = ""
    """What was said when the open question was asked; empty: not known."""


@dataclass(frozen=True, slots=True)
class Glance:
    """The station at one moment."""

    state: State
    now: float
    """Station time (s); that of the last sign of life where the station is gone."""
    wall: float
    """Wall time of the moment at which it is looked at (s since 1970)."""
    wall_trusted: bool = True
    """Whether the wall clock was set by a source that knows the time."""
    hearing: Hearing = "hears"
    last: LastWords = LastWords()
    gone_at: float | None = None
    """Wall time of the last sign of life (s) of a station that does not run; None: it runs."""
    age_known: bool = True
    """Whether it is known how long ago that was: not across a boot without a clock that was set."""
    failing: bool = False
    """Whether what is decided is in memory alone: the storage takes nothing."""
    wrong: tuple[str, ...] = ()
    """Other parts that do not work, by their names."""
    practised: Practised | None = None
    """The practice that goes on."""
    zone: tzinfo | None = None
    """The kitchen's; None: the machine's."""
