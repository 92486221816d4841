"""What happened to a batch and to the station: one frozen class per event. Journalled, never changed or deleted.

Masses in g, times in s, percent hydration. What the program does with an event is its row in `transitions`.
"""

from dataclasses import dataclass
from typing import Literal, TypeVar, dataclass_transform

from assistant.batch.record.commands import Command, Condition, Verdict
from assistant.dough.recipe import Plan

Source = Literal["voice", "keyboard", "jug"]
Reason = Literal["past_high", "twin", "unsure", "time_running", "target_outside", "far_from_lot", "differs"]


Class = TypeVar("Class")


@dataclass_transform(frozen_default=True, kw_only_default=True)
def event(kind: type[Class]) -> type[Class]:
    """Make a class an event: a frozen dataclass, its fields given by name."""
    return dataclass(frozen=True, slots=True, kw_only=True)(kind)


@event
class Event:
    """Something that happened."""

    at: float
    """Station time (s): the monotonic clock of the boot that wrote it."""


@event
class BatchOpened(Event):
    """A batch began with its flour in the hopper, and the recipe's additions with it where it has one."""

    batch: int
    flour_g: float
    target_pct: float
    low_pct: float
    high_pct: float
    hopper_g: float
    first_pour_g: float
    lot: str | None
    source: Source
    plan: Plan | None = None
    planned: str | None = None


@event
class WaterAdded(Event):
    """Water went in."""

    entry: int
    grams: float
    source: Source


@event
class FlourAdded(Event):
    """More flour went in."""

    entry: int
    grams: float
    source: Source


@event
class EntryCorrected(Event):
    """An entry was really `grams`, not `was`."""

    entry: int
    grams: float
    was: float
    source: Source


@event
class Withdrawn(Event):
    """The last thing that can be undone was taken back; the record of it stays."""

    what: str
    grams: float | None


@event
class TargetSet(Event):
    """New marks for this batch, or for the next where none is open."""

    target_pct: float
    low_pct: float
    high_pct: float


@event
class LotNamed(Event):
    """The flour's lot, of this batch or of the next.

    `first_pour_g`: water after which the crumb is first looked at, where the lot's past moves it; else None.
    """

    lot: str
    first_pour_g: float | None = None


@event
class RecipeChosen(Event):
    """The recipe of the next batch, with its marks."""

    plan: Plan


@event
class ConditionTold(Event):
    """A condition of this batch: degrees C of kitchen or dough, or the air's humidity in percent."""

    what: Condition
    value: float


@event
class CrumbJudged(Event):
    """The crumb was squeezed, at this hydration; mixing and resting are over by it."""

    verdict: Verdict
    hydration_pct: float


@event
class MixStarted(Event):
    """Mixing began, to be called at `due`, and announced at `warn_at` where that is not None; a rest is over by it."""

    seconds: float
    due: float
    warn_at: float | None


@event
class MixEnded(Event):
    """Mixing is over, by its time or by the cook: the crumb wants a squeeze. A timer that still ran is gone."""


@event
class RestStarted(Event):
    """A rest began, to be called at `due`, and before at `calls_at`; mixing is over by it."""

    seconds: float
    due: float
    calls_at: tuple[float, ...] = ()


@event
class RestEnded(Event):
    """The rest is over, by its time or by the cook: likewise."""


@event
class ExtrudingStarted(Event):
    """Dough goes through the die, as the cook says; mixing and resting are over. `early`: no crumb was called ready."""

    early: bool


@event
class DieNamed(Event):
    """A die by this name is in."""

    die: str


@event
class EntryWeighed(Event):
    """The other source told of the same pour, as so much; the entry stays as it is."""

    entry: int
    grams: float
    source: Source


@event
class ScrapWeighed(Event):
    """Dough trimmed or lost."""

    entry: int
    grams: float
    source: Source


@event
class TrayFilled(Event):
    """Tray number so-and-so of this batch is full: cold holding by `due`, called at `warn_at`; None: no clock."""

    tray: int
    batch: int = 0
    due: float | None = None
    warn_at: float | None = None


@event
class PortionsCounted(Event):
    """So many portions more."""

    count: int


@event
class BatchClosed(Event):
    """The batch is done, and its mixing and resting with it."""


@event
class BatchDropped(Event):
    """The batch is thrown away, and its mixing and resting with it."""


@event
class TimerSet(Event):
    """A timer of the kitchen's own runs, or that of a shape in the water; announced at `warn_at` where not None."""

    name: str
    seconds: float
    due: float
    kind: Literal["named", "cook"] = "named"
    warn_at: float | None = None


@event
class TimerExtended(Event):
    """A timer got more time; it runs to `due`, and is announced at `warn_at` where that is not None."""

    name: str
    seconds: float
    due: float
    warn_at: float | None = None


@event
class TimerStopped(Event):
    """A timer was taken away before it rang."""

    name: str


@event
class TimerWarned(Event):
    """A timer was announced before its time."""

    name: str


@event
class TimerRang(Event):
    """A timer is due: it rings until acknowledged, and calls again at `next_call`."""

    name: str
    next_call: float


@event
class TimerCalled(Event):
    """A ringing timer called again, the `calls`-th time; next at `next_call`."""

    name: str
    calls: int
    next_call: float


@event
class TimerAcknowledged(Event):
    """Somebody heard a ringing timer; it is gone."""

    name: str


@event
class QuestionAsked(Event):
    """A yes or no is wanted until `expires`; a yes carries out `command`."""

    reason: Reason
    command: Command
    source: Source
    expires: float


@event
class QuestionSettled(Event):
    """The question is closed: yes, no, or None where silence or another command closed it."""

    yes: bool | None


@event
class ListeningSet(Event):
    """Commands are acted on, or not."""

    on: bool


@event
class LoudnessSet(Event):
    """Steps louder (+) or softer (-) than the settings say."""

    steps: int


@event
class PaceSet(Event):
    """Steps faster (+) or slower (-) than the settings say."""

    steps: int


@event
class StationStarted(Event):
    """The program came up. Station time of what went before is moved by `shift`.

    `certain` is false where nothing tells how long the station was off: what is left on a timer is a guess.
    """

    shift: float
    certain: bool
