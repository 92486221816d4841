"""What happened to a batch and to the station: one frozen class per event. Never changed, never deleted.

Masses in g, times in s, hydration in percent. What is done with an event is its row in `transitions`.
"""

from dataclasses import dataclass
from typing import Literal, TypeVar, dataclass_transform

from assistant.batch.record.clocks.food_rules import FoodRules
from assistant.batch.record.clocks.time_off import KnownTime
from assistant.batch.record.commands import Command, Condition, Verdict
from assistant.batch.record.timer_kinds import TimerKind
from assistant.dough.evidence import Squeeze
from assistant.dough.recipe import RecipePlan

Source = Literal["voice", "keyboard", "jug", "screen"]
_OfAnEntry = Literal["past_high", "twin", "over_hopper", "in_already", "unmixed", "same_pour", "portions"]
_OfWhatWasSaid = Literal["unsure", "missing", "differs", "said_wrong", "addition", "tray_stored", "print"]
_OfTheBatch = Literal["time_running", "target_outside", "far_from_lot", "far_from_marks", "lot_change"]
Reason = Literal[_OfAnEntry, _OfWhatWasSaid, _OfTheBatch]
"""Why a question was asked."""

Class = TypeVar("Class")


@dataclass_transform(frozen_default=True, kw_only_default=True)
def event(kind: type[Class]) -> type[Class]:
    """Make a class an event: a frozen dataclass, its fields given by name."""
    return dataclass(frozen=True, slots=True, kw_only=True)(kind)


@event
class Event:
    """Something that happened."""

    at: float
    """Station time: the monotonic clock of the boot that wrote it."""
    joined: bool = False
    """Whether it came in one breath with the step before it, and is taken back together with that."""


@event
class BatchOpened(Event):
    """A batch began with its flour in the hopper."""

    batch: int
    flour_g: float
    target_pct: float
    low_pct: float
    high_pct: float
    hopper_g: float
    first_pour_g: float
    """Water after which the crumb is first looked at."""
    lot: str | None
    source: Source
    plan: RecipePlan | None = None
    """The recipe."""
    planned: str | None = None
    """Key of the batch of the day's plan that this one is."""
    additions_told: bool = False
    """Whether the recipe's additions count when they are told; False: they went in with the flour (0.1.0)."""
    food: FoodRules | None = None
    """Rules of food safety that it is made under; None: those of 0.1.0, which had one rule for all."""
    unclean_since: float | None = None
    """Since when the machine is unclean by batches before; None: it is clean."""
    granulation: float | None = None
    """Size of the flour's grains (micrometres); None: not known."""
    die: str | None = None
    """The die that is in since a batch before; None: not known."""
    gluten_free: bool = False
    """Whether it is a dough without gluten, by its recipe or its lot."""
    clock_told: bool = False
    """Whether the wall time is what a cook told."""
    carried_over: tuple[str, ...] = ()
    """Allergens besides its own that batches before left in the machine."""


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
class ScrapWeighed(Event):
    """Dough was trimmed or lost."""

    entry: int
    grams: float
    source: Source


@event
class EntryCorrected(Event):
    """An entry was really `grams`."""

    entry: int
    grams: float
    was: float
    source: Source


@event
class EntryWeighed(Event):
    """The other source reported the same pour; the entry stays as it is."""

    entry: int
    grams: float
    """What the other source said."""
    source: Source


@event
class Withdrawn(Event):
    """The last thing that can be undone was taken back; the record of it stays."""

    what: str
    """Name of the class of the event that is taken back."""
    grams: float | None


@event
class TargetSet(Event):
    """New marks for this batch, or for the next where none is open."""

    target_pct: float
    low_pct: float
    high_pct: float


@event
class LotNamed(Event):
    """The flour's lot, of this batch or of the next."""

    lot: str
    first_pour_g: float | None = None
    """Water after which the crumb is first looked at, where the lot's past moves it."""
    granulation: float | None = None
    """Size of its grains (micrometres); None: not known."""
    gluten_free: bool | None = None
    """Whether the open batch is without gluten by it; None: it is what it was."""
    carried_over: tuple[str, ...] = ()
    """Allergens that batches before left in the machine, where it is said whether it is without gluten."""


@event
class RecipeChosen(Event):
    """The recipe of the next batch, with its marks."""

    plan: RecipePlan


@event
class ConditionTold(Event):
    """A condition of this batch."""

    what: Condition
    value: float
    """Degrees Celsius of kitchen, dough or the strand out of the die, or the air's humidity in percent."""


# --- the crumb, the die, the end


@event
class CrumbJudged(Event):
    """The crumb was squeezed; mixing and resting are over by it."""

    verdict: Verdict
    hydration_pct: float
    far: bool = False
    """Whether it was called ready far outside the marks, and confirmed."""
    call_at: float | None = None
    """When a crumb that is ready is mentioned, should nobody have extruded it by then; None: it is not."""
    pour_to_pct: float | None = None  # by what is known of the lot; None: the kitchen's rule stands
    cook: str | None = None  # who judged it

    @property
    def squeeze(self) -> Squeeze:
        """What it says of the end of the batch."""
        return ("doubtful" if self.far else self.verdict, self.hydration_pct)


@event
class ExtrudingStarted(Event):
    """Dough goes through the die, as the cook says; mixing and resting are over by it."""

    early: bool
    """Whether no crumb was called ready before."""


@event
class DieNamed(Event):
    """A die by this name is in."""

    die: str


@event
class TrayFilled(Event):
    """A tray of this batch is full."""

    tray: int
    batch: int = 0
    due: float | None = None
    """When it has to be cold; None: it has no clock."""
    warn_at: float | None = None
    """When it is called before that."""
    since: float | None = None
    """What its time runs from: the first wet contact of its dough; None: its filling, as in 0.1.0."""
    certain: bool = True
    """False after a power cut of unknown length since then."""
    next_call: float | None = None
    """When it calls again, where its time was up already; None: it was not."""


@event
class PortionsCounted(Event):
    """More portions are made."""

    count: int


@event
class BatchClosed(Event):
    """The batch is done, and its mixing and resting with it."""

    far: bool = False
    """Whether its water was far outside the marks, and that was confirmed: it says nothing of its flour."""


@event
class BatchDropped(Event):
    """The batch is thrown away, and its mixing and resting with it."""


# --- time


@event
class MixStarted(Event):
    """Mixing began; a rest is over by it."""

    seconds: float
    due: float
    warn_at: float | None
    """When its end is announced; None: it is not."""


@event
class MixEnded(Event):
    """Mixing is over, by its time or by the cook: the crumb wants a squeeze. Its timer is gone if it ran."""


@event
class RestStarted(Event):
    """A rest began; mixing is over by it."""

    seconds: float
    due: float
    calls_at: tuple[float, ...] = ()
    """When it is called before its end."""


@event
class RestEnded(Event):
    """The rest is over, by its time or by the cook: the crumb wants a squeeze. Its timer is gone, too."""


@event
class TimerSet(Event):
    """A timer of the kitchen's own runs, or that of a shape in the water."""

    name: str
    seconds: float
    due: float
    kind: TimerKind = "named"
    warn_at: float | None = None
    """When its end is announced; None: it is not."""


@event
class TimerExtended(Event):
    """A timer got more time."""

    name: str
    seconds: float
    due: float
    warn_at: float | None = None
    """When its end is announced; None: it is not."""


@event
class TimerStopped(Event):
    """A timer was taken away before it rang."""

    name: str


@event
class TimerWarned(Event):
    """A timer was announced before its time."""

    name: str
    again_at: float | None = None
    """When it is announced instead, because something more urgent was said; None: it was announced."""


@event
class TimerRang(Event):
    """A timer is due: it rings until it is acknowledged."""

    name: str
    next_call: float


@event
class TimerCalled(Event):
    """A ringing timer called again."""

    name: str
    calls: int
    """How often it has called by now."""
    next_call: float


@event
class TimerAcknowledged(Event):
    """Somebody heard a ringing timer; it is gone."""

    name: str


# --- questions and the station


@event
class QuestionAsked(Event):
    """A yes or no is wanted."""

    reason: Reason
    command: Command
    """What a yes carries out."""
    source: Source
    expires: float
    """Station time from which silence means no."""


@event
class QuestionSettled(Event):
    """The question is closed."""

    yes: bool | None
    """None where silence or another command closed it."""


@event
class ListeningSet(Event):
    """Commands are acted on, or not."""

    on: bool


@event
class LoudnessSet(Event):
    """The voice is louder or softer, by so many steps above (+) or below (-) the settings."""

    steps: int


@event
class PaceSet(Event):
    """The voice is faster or slower, by so many steps above (+) or below (-) the settings."""

    steps: int


@event
class StationStarted(Event):
    """The program came up."""

    shift: float
    """What station times before it are moved by."""
    certain: bool
    """False where nothing says how long the station was off: what is left on a timer is a guess then."""
    known: KnownTime | None = None
    """The last moment before whose wall time is known, where the clock may yet tell; station time of now."""
