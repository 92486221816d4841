"""The state of the station: values only, changed by `evolve` alone."""

from dataclasses import dataclass, field, replace
from enum import Enum

from assistant.batch.record.commands import Command, Condition, Verdict
from assistant.batch.record.events import Reason, Source
from assistant.batch.record.hopper.entries import Contents, Entry, contents_of
from assistant.batch.record.phases import Phase
from assistant.batch.record.steps import Walking
from assistant.batch.record.timer_kinds import TIMER_KINDS, TimerKind, Traits
from assistant.dough.evidence import Squeeze
from assistant.dough.hydration import hydration_pct, water_for_g
from assistant.dough.ingredients import Addition, additions_water_g
from assistant.dough.lots import first_pour_g
from assistant.dough.recipe import RecipePlan

HALF_GRAM = 0.5
"""What no kitchen scale and no cook tells apart from nothing (g)."""


class Standing(Enum):
    """Where the water of a batch is between its marks, to half a gram."""

    SHORT = "short of the target"
    ON_TARGET = "on target"
    PAST_TARGET = "past the target"
    AT_HIGH = "at the high mark"
    OVER_HIGH = "over the high mark"


@dataclass(frozen=True, slots=True)
class CutterSetting:
    """Speed of the cutter, and the length (mm) of its pieces as measured at it."""

    speed: float
    length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class MadeOf:
    """What a batch was made of, so that another can be opened like it."""

    flour_g: float
    """Flour that it was opened with (g), as corrected; what was added to mend it is not of the plan."""
    marks: tuple[float, float, float]
    """Target, low and high (percent)."""
    lot: str | None
    plan: RecipePlan | None
    """The recipe."""


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch: its account, its marks and its phase. Masses in g, hydration in percent of the flour."""

    number: int
    opened_at: float
    phase: Phase
    entries: tuple[Entry, ...]
    target_pct: float
    low_pct: float
    high_pct: float
    hopper_g: float
    first_share: float
    """Share of the target's water after which the crumb is first looked at."""
    lot: str | None = None
    crumb: Verdict | None = None
    """The last verdict, until more water or flour goes in."""
    looked: bool = False
    """Whether the crumb was judged at least once."""
    topping: bool = False
    """Whether it was called dry with the target's water in: what follows are top-ups."""
    held: bool = False
    """Whether it was called wet with the target's water in: no more is asked for until it is called dry."""
    die: str | None = None
    die_warm: bool = False
    trays: int = 0
    portions: int = 0
    plan: RecipePlan | None = None
    """The recipe."""
    additions_told: bool = False
    """Whether its additions count when they are told; False: they went in with the first flour."""
    left_out: tuple[str, ...] = ()
    """Additions of the recipe that do not come."""
    mixed: bool = False
    """Whether it was mixed at least once, so that what is taken out is dough."""
    squeezes: tuple[Squeeze, ...] = ()
    """All verdicts with their hydration, oldest first."""
    planned: str | None = None
    """Key of the batch of the day's plan that this one is."""
    conditions: tuple[tuple[Condition, float], ...] = ()
    """What the cook said of kitchen, dough and air: degrees Celsius, or percent."""

    @property
    def made_of(self) -> MadeOf:
        """What another batch like it is opened with."""
        marks = (self.target_pct, self.low_pct, self.high_pct)
        return MadeOf(self.entries[0].grams, marks, self.lot, self.plan)

    @property
    def contents(self) -> Contents:
        """What is in the hopper by the account."""
        return contents_of(self.entries, () if self.additions_told else self._by_recipe)

    @property
    def _by_recipe(self) -> tuple[Addition, ...]:
        """The recipe's additions, by the flour that the batch was opened with, as it was corrected."""
        return self.plan.additions(self.entries[0].grams) if self.plan else ()

    @property
    def flour_g(self) -> float:
        """Flour in so far (g)."""
        return self.contents.flour_g

    @property
    def recipe(self) -> str | None:
        """Name of the recipe."""
        return self.plan.recipe if self.plan else None

    @property
    def additions(self) -> tuple[Addition, ...]:
        """The recipe's additions that are in, each as much as went in."""
        if not self.additions_told:
            return self._by_recipe
        return tuple(
            Addition(one.name or "", one.grams, one.water_pct)
            for one in self.entries
            if one.kind == "addition"
        )

    @property
    def to_come(self) -> tuple[Addition, ...]:
        """The recipe's additions that are not in yet, nor left out; less where dough was taken out."""
        if not self.additions_told or self.plan is None:
            return ()
        settled, kept = {one.name for one in self.entries}.union(self.left_out), self.contents.kept
        return tuple(
            replace(one, grams=one.grams * kept) for one in self._by_recipe if one.name not in settled
        )

    @property
    def to_come_water_g(self) -> float:
        """Water that those additions will bring (g)."""
        return additions_water_g(self.to_come)

    @property
    def poured_g(self) -> float:
        """Water poured so far (g), without that of the additions."""
        return self.contents.poured_g

    @property
    def water_g(self) -> float:
        """Water in so far (g), the water of the additions that are in with it."""
        return self.contents.water_g

    @property
    def dry_g(self) -> float:
        """What the additions brought beside their water (g)."""
        return self.contents.dry_g

    @property
    def scrap_g(self) -> float:
        """Dough trimmed or lost (g)."""
        return sum((entry.grams for entry in self.entries if entry.kind == "scrap"), 0.0)

    @property
    def hydration_pct(self) -> float:
        """Water in percent of the flour."""
        return hydration_pct(self.water_g, self.flour_g)

    def to_g(self, pct: float) -> float:
        """Water that is lacking to `pct` (g); negative when past it."""
        return water_for_g(self.flour_g, pct) - self.water_g

    def to_pour_g(self, pct: float) -> float:
        """Water still to pour to reach `pct` (g), for additions to come bring the rest; negative past it."""
        return self.to_g(pct) - self.to_come_water_g

    @property
    def to_low_g(self) -> float:
        """Water to the low mark (g); negative past it."""
        return self.to_g(self.low_pct)

    @property
    def to_target_g(self) -> float:
        """Water to the target (g); negative past it."""
        return self.to_g(self.target_pct)

    @property
    def to_high_g(self) -> float:
        """Water to the high mark (g); negative past it."""
        return self.to_g(self.high_pct)

    @property
    def standing(self) -> Standing:
        """Where the water is between the marks, that of the additions to come counted."""
        to_target, to_high = self.to_pour_g(self.target_pct), self.to_pour_g(self.high_pct)
        if to_target > HALF_GRAM:
            return Standing.SHORT
        if to_target >= -HALF_GRAM:
            return Standing.ON_TARGET
        if to_high > HALF_GRAM:
            return Standing.PAST_TARGET
        return Standing.AT_HIGH if to_high >= -HALF_GRAM else Standing.OVER_HIGH

    @property
    def to_first_pour_g(self) -> float:
        """Water to pour to the first look at the crumb (g); negative past it."""
        return self.first_pour_g - self.water_g - self.to_come_water_g

    @property
    def first_pour_g(self) -> float:
        """Water after which the crumb is first looked at (g); moves with flour and target.

        What is to be poured for it is a multiple of 5. Additions bring their part of it, those to come too:
        with them in, in whatever order, it is never past its share of the target's water.
        """
        brought = self.contents.carried_g + self.to_come_water_g
        share = water_for_g(self.flour_g, self.target_pct) * self.first_share
        return brought + first_pour_g(share, brought)

    @property
    def product_g(self) -> float:
        """All that is in the hopper (g), what went through the die not taken off."""
        return self.contents.product_g

    def full_g(self, pct: float) -> float:
        """All that the hopper has to hold (g) once additions to come and the water to `pct` are in."""
        coming = sum((one.grams for one in self.to_come), 0.0)
        return self.product_g + coming + max(0.0, self.to_pour_g(pct))


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

    @property
    def traits(self) -> Traits:
        """What is particular about its kind."""
        return TIMER_KINDS[self.kind]

    def remaining_s(self, now: float) -> float:
        """Seconds until due; 0 when ringing."""
        return 0.0 if self.ringing else max(0.0, self.due - now)


@dataclass(frozen=True, slots=True)
class Question:
    """A yes or no that is waited for."""

    reason: Reason
    command: Command
    """What a yes carries out."""
    source: Source
    expires: float
    """Station time (s) from which silence means no."""


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
    ready_call_at: float | None = None
    """When a crumb that was called ready is mentioned, should nobody have extruded it by then (s); None: not.

    It stays where the batch is taken back to an earlier state: it is mentioned once.
    """
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
