"""The state of the station: values only, changed by `evolve` alone."""

from dataclasses import dataclass, field, replace

from assistant.batch.record.batch import Batch, MadeOf
from assistant.batch.record.clocks.food_rules import Unclean
from assistant.batch.record.clocks.time_off import TimeOff
from assistant.batch.record.commands import Command, Together
from assistant.batch.record.events import Reason, Source
from assistant.batch.record.hopper.leftovers import CLEANED_BY
from assistant.batch.record.phases import Phase
from assistant.batch.record.press.at_the_die import Reading
from assistant.batch.record.printing.print_jobs import Jobs
from assistant.batch.record.steps import Walking
from assistant.batch.record.timer_kinds import TIMER_KINDS, TimerKind, Traits
from assistant.dough.recipe import RecipePlan


@dataclass(frozen=True, slots=True)
class CutterSetting:
    """Speed of the cutter, and the length (mm) of its pieces as measured at it."""

    speed: float
    length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Timer:
    """A timer: it runs until it is due, then rings until it is acknowledged. Times are station times (s)."""

    name: str
    kind: TimerKind
    seconds: float
    """Its whole length."""
    due: float
    warn_at: float | None = None
    """When it is announced before its time; None: it is not."""
    later: tuple[float, ...] = ()
    """When it is announced again before its time."""
    ringing: bool = False
    calls: int = 0
    """How often it called."""
    next_call: float = 0.0
    """When it calls (again)."""
    certain: bool = True
    """False after a power cut of unknown length."""
    doubtful: bool = False
    """Whether it rings only because it may be over after such a power cut."""

    @property
    def traits(self) -> Traits:
        """What is particular about its kind."""
        return TIMER_KINDS[self.kind]

    def remaining_s(self, now: float) -> float:
        """Seconds until due; 0 when ringing."""
        return 0.0 if self.ringing else max(0.0, self.due - now)

    def rung(self, at: float, next_call: float) -> "Timer":
        """It rings from now on (s). Before its time it does so only in doubt, and is announced later too."""
        if at < self.due and not self.certain:
            return replace(self, ringing=True, calls=1, next_call=next_call, doubtful=True)
        return replace(self, ringing=True, warn_at=None, later=(), calls=1, next_call=next_call)


@dataclass(frozen=True, slots=True)
class Question:
    """A yes or no that is waited for."""

    reason: Reason
    command: Command
    """What a yes carries out."""
    source: Source
    expires: float
    """Station time (s) from which silence means no."""

    @property
    def behind(self) -> tuple[Command, ...]:
        """What was said in one breath behind the command that is asked about, or waits for the answer."""
        return self.command.commands[1:] if isinstance(self.command, Together) else ()


@dataclass(frozen=True, slots=True)
class Undoable:
    """What "undo" would take back, and what was there before it."""

    what: str
    """Name of the event's class."""
    at: float
    """Station time of the event (s)."""
    grams: float | None
    """Mass that the announcement of its withdrawal says."""
    before: Batch | None
    before_marks: tuple[tuple[float, float, float] | None, str | None]
    """Marks and lot named for the next batch."""
    left: Phase
    """Phase right after the event."""
    before_plan: RecipePlan | None = None
    before_made_of: MadeOf | None = None
    timer: str | None = None
    """Name of the timer that it was about."""
    touched: tuple[str, ...] = ()
    """Names of all timers that it set or ended."""
    before_timers: tuple[Timer, ...] = ()
    """Those of them that ran before it."""
    joined: bool = False
    """Whether the step before it came in the same breath, and is taken back with it."""


@dataclass(frozen=True, slots=True)
class State:
    """All that the station knows."""

    batch: Batch | None = None
    """The open batch."""
    timers: tuple[Timer, ...] = ()
    question: Question | None = None
    """The open question."""
    undo: tuple[Undoable, ...] = ()
    """What can be taken back, the last at the end."""
    last_batch: int = 0
    """Number of the last batch that was opened."""
    next_entry: int = 1
    """Number of the next entry of the account."""
    next_marks: tuple[float, float, float] | None = None
    """Target, low and high of the next batch, where the cook named them (percent)."""
    next_lot: str | None = None
    next_plan: RecipePlan | None = None
    """Recipe of the next batch."""
    made_of: MadeOf | None = None
    """What the last batch was made of that was closed or dropped."""
    listening: bool = True
    loudness: int = 0
    """Steps above the settings."""
    pace: int = 0
    """Steps above the settings."""
    walks: tuple[Walking, ...] = ()
    """Walk-throughs that were begun and are not over."""
    cutter: CutterSetting | None = None
    made: tuple[str, ...] = ()
    """Keys of the day's plan that are made."""
    left_behind: tuple[tuple[int, tuple[str, ...]], ...] = ()
    """Batches that ended since the last clean down, each with the allergens besides gluten that went in."""
    gluten_left: tuple[tuple[int, tuple[str, ...]], ...] = ()
    """Batches that ended since the last clean down, each with its cereals with gluten."""
    left_unclean: Unclean | None = None
    """Since when the machine is unclean by a batch that has ended; None: it was cleaned, or not used."""
    clean_called: int | None = None
    """Batch whose dough made the machine unclean that clean down was called for; None: it was not called."""
    clean_again_at: float | None = None
    """When it is called instead, because something more urgent was said (s); None: as the rules say."""
    ready_call_at: float | None = None
    """When a crumb that was called ready is mentioned, should nobody have extruded it by then (s); None: not.

    It stays where the batch is taken back to an earlier state: it is mentioned once.
    """
    exits_before: tuple[Reading, ...] = ()
    """Last temperatures of the strand in the batches before, oldest first."""
    die_before: str | None = None
    """The die of the last batch that named one, as far as nobody has taken the machine apart since."""
    slow_called: int | None = None
    """Batch whose slow trays were called; None: those of none were."""
    prints: Jobs = ()
    """What is to be printed, and what could not be."""
    next_print: int = 1
    """Number of the next job of printing."""
    cook: str | None = None
    """Who was named by voice as the cook; None: nobody was, and the settings say."""
    time_off: TimeOff | None = None
    """A time off that the clock could not tell yet; None: all is known, or will never be."""
    clock_told: bool = False
    """Whether the wall time of this boot is what a cook told."""
    undo_depth: int = field(default=50, repr=False)

    @property
    def phase(self) -> Phase:
        """Phase of the open batch; idle without one."""
        return self.batch.phase if self.batch else Phase.IDLE

    @property
    def walk(self) -> Walking | None:
        """The walk-through that is open; those that were left are not."""
        return next((walk for walk in self.walks if walk.left_at is None), None)

    def timer(self, name: str) -> Timer | None:
        """The timer of this name."""
        return next((timer for timer in self.timers if timer.name == name), None)

    @property
    def ringing(self) -> tuple[Timer, ...]:
        """Timers that ring, the most urgent first, of those the longest due."""
        ringing = (t for t in self.timers if t.ringing)
        return tuple(sorted(ringing, key=lambda t: (t.traits.urgency, t.due)))

    @property
    def crumb_call(self) -> float | None:
        """When a crumb that is ready is mentioned if nobody extrudes it (s); None: it is not."""
        return self.ready_call_at if self.phase is Phase.READY else None

    @property
    def exits(self) -> tuple[Reading, ...]:
        """Temperatures of the strand, those of the batches before with them, oldest first."""
        return (*self.exits_before, *(self.batch.at_die.exits if self.batch else ()))

    @property
    def unclean(self) -> Unclean | None:
        """Since when the machine is unclean, by a batch before or the open one; None: it is not."""
        return self.left_unclean or (self.batch.unclean if self.batch else None)

    @property
    def clean_call(self) -> float | None:
        """When clean down is called (s); None: it is not, or was. Nobody is called who is at it."""
        unclean = self.unclean
        at_it = self.walk is not None and self.walk.name == CLEANED_BY
        if unclean is None or at_it or self.clean_called == unclean.batch:
            return None
        call_at, again_at = unclean.call_at, self.clean_again_at
        # What it was put off to may have been of water that was taken back since.
        return call_at if call_at is None or again_at is None else max(call_at, again_at)

    def account(self, now: float) -> dict[str, object]:
        """The state as the program prints it (JSON); masses g, percent hydration, times s."""
        b = self.batch
        return {
            "phase": self.phase.value,
            "flour_g": _tidy(b.flour_g) if b else None,
            "water_g": _tidy(b.water_g) if b else None,
            "hydration_pct": round(b.hydration_pct, 3) if b else None,
            "target_pct": b.target_pct if b else None,
            "low_pct": b.low_pct if b else None,
            "high_pct": b.high_pct if b else None,
            "to_target_g": _tidy(b.to_target_g) if b else None,
            "to_low_g": _tidy(b.to_low_g) if b else None,
            "to_high_g": _tidy(b.to_high_g) if b else None,
            "crumb": b.crumb if b else None,
            "timers": [
                {"name": t.name, "remaining_s": round(t.remaining_s(now), 3), "ringing": t.ringing}
                for t in self.timers
            ],
            "lot": b.lot if b else self.next_lot,
            "batch": b.number if b else None,
        }


def _tidy(grams: float) -> float:
    """Grams to the milligram, so that sums of floats read as they were said."""
    return round(grams, 3) + 0.0
