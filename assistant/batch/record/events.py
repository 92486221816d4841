"""What happened, one frozen class an event. They are journalled, never changed and never deleted.

`at` is station time (s): the monotonic clock of the boot that wrote it. All masses g, times s, percent
hydration.
"""

from dataclasses import dataclass
from typing import Literal

from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import Command, Condition, Verdict
from assistant.dough.recipe import RecipePlan

Source = Literal["voice", "keyboard", "jug"]
Reason = Literal["past_high", "twin", "unsure", "time_running", "target_outside", "far_from_lot", "differs"]


@dataclass(frozen=True, slots=True)
class BatchOpened:
    """A batch began with its flour in the hopper, and the recipe's additions with it where it has one."""

    at: float
    batch: int
    flour_g: float
    target_pct: float
    low_pct: float
    high_pct: float
    hopper_g: float
    first_pour_g: float
    lot: str | None
    source: Source
    plan: RecipePlan | None = None
    planned: str | None = None


@dataclass(frozen=True, slots=True)
class WaterAdded:
    """Water went in."""

    at: float
    entry: int
    grams: float
    source: Source


@dataclass(frozen=True, slots=True)
class FlourAdded:
    """More flour went in."""

    at: float
    entry: int
    grams: float
    source: Source


@dataclass(frozen=True, slots=True)
class EntryCorrected:
    """An entry was really `grams`, not `was`."""

    at: float
    entry: int
    grams: float
    was: float
    source: Source


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """The last thing that can be undone was taken back; the record of it stays."""

    at: float
    what: str
    grams: float | None


@dataclass(frozen=True, slots=True)
class TargetSet:
    """New marks for this batch, or for the next where none is open."""

    at: float
    target_pct: float
    low_pct: float
    high_pct: float


@dataclass(frozen=True, slots=True)
class LotNamed:
    """The flour's lot, of this batch or of the next.

    `first_pour_g`: water after which the crumb is first looked at, where the lot's past moves it; else None.
    """

    at: float
    lot: str
    first_pour_g: float | None = None


@dataclass(frozen=True, slots=True)
class RecipeChosen:
    """The recipe of the next batch, with its marks."""

    at: float
    plan: RecipePlan


@dataclass(frozen=True, slots=True)
class ConditionTold:
    """A condition of this batch: degrees C of kitchen or dough, or the air's humidity in percent."""

    at: float
    what: Condition
    value: float


@dataclass(frozen=True, slots=True)
class CrumbJudged:
    """The crumb was squeezed, at this hydration; mixing and resting are over by it."""

    at: float
    verdict: Verdict
    hydration_pct: float


@dataclass(frozen=True, slots=True)
class MixStarted:
    """Mixing began, to be called at `due`, and announced at `warn_at` where that is not None; a rest is over by it."""

    at: float
    seconds: float
    due: float
    warn_at: float | None


@dataclass(frozen=True, slots=True)
class MixEnded:
    """Mixing is over, by its time or by the cook: the crumb wants a squeeze. A timer that still ran is gone."""

    at: float


@dataclass(frozen=True, slots=True)
class RestStarted:
    """A rest began, to be called at `due`, and before at `calls_at`; mixing is over by it."""

    at: float
    seconds: float
    due: float
    calls_at: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class RestEnded:
    """The rest is over, by its time or by the cook: likewise."""

    at: float


@dataclass(frozen=True, slots=True)
class ExtrudingStarted:
    """Dough goes through the die, as the cook says; mixing and resting are over. `early`: no crumb was called ready."""

    at: float
    early: bool


@dataclass(frozen=True, slots=True)
class DieNamed:
    """A die by this name is in."""

    at: float
    die: str


@dataclass(frozen=True, slots=True)
class EntryWeighed:
    """The other source told of the same pour, as so much; the entry stays as it is."""

    at: float
    entry: int
    grams: float
    source: Source


@dataclass(frozen=True, slots=True)
class ScrapWeighed:
    """Dough trimmed or lost."""

    at: float
    entry: int
    grams: float
    source: Source


@dataclass(frozen=True, slots=True)
class TrayFilled:
    """Tray number so-and-so of this batch is full: cold holding by `due`, called at `warn_at`; None: no clock."""

    at: float
    tray: int
    batch: int = 0
    due: float | None = None
    warn_at: float | None = None


@dataclass(frozen=True, slots=True)
class PortionsCounted:
    """So many portions more."""

    at: float
    count: int


@dataclass(frozen=True, slots=True)
class BatchClosed:
    """The batch is done, and its mixing and resting with it."""

    at: float


@dataclass(frozen=True, slots=True)
class BatchDropped:
    """The batch is thrown away, and its mixing and resting with it."""

    at: float


@dataclass(frozen=True, slots=True)
class TimerSet:
    """A timer of the kitchen's own runs, or that of a shape in the water; announced at `warn_at` where not None."""

    at: float
    name: str
    seconds: float
    due: float
    kind: Literal["named", "cook"] = "named"
    warn_at: float | None = None


@dataclass(frozen=True, slots=True)
class TimerExtended:
    """A timer got more time; it runs to `due`, and is announced at `warn_at` where that is not None."""

    at: float
    name: str
    seconds: float
    due: float
    warn_at: float | None = None


@dataclass(frozen=True, slots=True)
class TimerStopped:
    """A timer was taken away before it rang."""

    at: float
    name: str


@dataclass(frozen=True, slots=True)
class TimerWarned:
    """A timer was announced before its time."""

    at: float
    name: str


@dataclass(frozen=True, slots=True)
class TimerRang:
    """A timer is due: it rings until acknowledged, and calls again at `next_call`."""

    at: float
    name: str
    next_call: float


@dataclass(frozen=True, slots=True)
class TimerCalled:
    """A ringing timer called again, the `calls`-th time; next at `next_call`."""

    at: float
    name: str
    calls: int
    next_call: float


@dataclass(frozen=True, slots=True)
class TimerAcknowledged:
    """Somebody heard a ringing timer; it is gone."""

    at: float
    name: str


@dataclass(frozen=True, slots=True)
class QuestionAsked:
    """A yes or no is wanted until `expires`; a yes carries out `command`."""

    at: float
    reason: Reason
    command: Command
    source: Source
    expires: float


@dataclass(frozen=True, slots=True)
class QuestionSettled:
    """The question is closed: yes, no, or None where silence or another command closed it."""

    at: float
    yes: bool | None


@dataclass(frozen=True, slots=True)
class ListeningSet:
    """Commands are acted on, or not."""

    at: float
    on: bool


@dataclass(frozen=True, slots=True)
class LoudnessSet:
    """Steps louder (+) or softer (-) than the settings say."""

    at: float
    steps: int


@dataclass(frozen=True, slots=True)
class PaceSet:
    """Steps faster (+) or slower (-) than the settings say."""

    at: float
    steps: int


@dataclass(frozen=True, slots=True)
class StationStarted:
    """The program came up. Station time of what went before is moved by `shift`.

    `certain` is false where nothing tells how long the station was off: what is left on a timer is a guess.
    """

    at: float
    shift: float
    certain: bool


Event = (
    BatchOpened
    | WaterAdded
    | FlourAdded
    | EntryCorrected
    | EntryWeighed
    | Withdrawn
    | TargetSet
    | LotNamed
    | RecipeChosen
    | ConditionTold
    | CrumbJudged
    | MixStarted
    | MixEnded
    | RestStarted
    | RestEnded
    | ExtrudingStarted
    | DieNamed
    | ScrapWeighed
    | TrayFilled
    | PortionsCounted
    | BatchClosed
    | BatchDropped
    | TimerSet
    | TimerExtended
    | TimerStopped
    | TimerWarned
    | TimerRang
    | TimerCalled
    | TimerAcknowledged
    | QuestionAsked
    | QuestionSettled
    | ListeningSet
    | LoudnessSet
    | PaceSet
    | StationStarted
    | sh.WalkBegan
    | sh.StepSettled
    | sh.StepBack
    | sh.WalkLeft
    | sh.WalkResumed
    | sh.WalkEnded
    | sh.DieWarmed
    | sh.TrayChilled
    | sh.CutterTold
)

EVENTS: dict[str, type[Event]] = {cls.__name__: cls for cls in Event.__args__}
"""Name in the journal -> class. A name that was ever written stays."""
