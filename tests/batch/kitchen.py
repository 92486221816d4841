"""A kitchen to test in: says commands, moves the clock, keeps every event and every announcement."""

from dataclasses import dataclass, field

from assistant.batch.decide.decide import Due, Request, Said, Started, decide, next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Announcement, Value
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks.time_off import KnownTime
from assistant.batch.record.evolving.evolve import evolve, replay
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import State
from assistant.batch.record.steps import Step, WalkThrough
from assistant.dough.amounts import Amount, Unit
from assistant.dough.calculators.die_heat import LearnedEnergy
from assistant.dough.calculators.throughput import DieFigures
from assistant.dough.censored import Mixture
from assistant.dough.lots import Forecast
from assistant.dough.recipe import RecipePlan, Share
from assistant.dough.shift_plan import PlannedBatch

Spoken = tuple[str, dict[str, Value]]


def grams(value: float) -> Amount:
    """An amount as a voice says it: it may have a twin."""
    return Amount(value)


def typed(value: float, unit: Unit = "g") -> Amount:
    """An amount typed in digits: it can't be misheard."""
    return Amount(value, unit, exact=True)


def forecast(
    lot: str, batches: int, likely: float, spread: float = 0.5, drift: float = 0.0, climbed: int = 0
) -> Forecast:
    """A forecast for a lot: likely end and standard deviation in percent."""
    ends = Mixture([(1.0, likely, spread**2)])
    low, high = ends.quantile(0.05), ends.quantile(0.95)
    return Forecast(
        lot=lot,
        flour="semolina",
        batches=batches,
        likely_pct=likely,
        low_pct=low,
        high_pct=high,
        safe_pct=low,
        noise_pct=0.3,
        drift_points=drift,
        moved_now=drift != 0.0,
        climbed=climbed,
        ends=ends,
        usual=ends,
    )


LOTS = {
    "12": forecast("12", 9, 31.8),
    "7": forecast("7", 12, 30.0, drift=0.9),
    "8": forecast("8", 20, 31.0, drift=-1.4),
    "6": forecast("6", 5, 31.2, climbed=5),
    "1": forecast("1", 1, 31.5, 0.8),
    "99": forecast("99", 0, 31.0, 1.5),
    "5": forecast("5", 0, 24.0, 2.0),
}
HOT_DIE = DieFigures("rigatoni", 6, 100.0, 90.0, 110.0, True, 300.0, LearnedEnergy(40.0, 2.0, 5))
"""A die whose trays take five minutes, and that warms a dough of 31 % by some 16 C."""
PLANS = {
    "egg": RecipePlan(
        "egg", 31.0, 30.0, 33.0, (Share("whole egg", 20.0, 76.15),), rest_s=120.0, allergens=("wheat", "egg")
    ),
    "wholegrain": RecipePlan("wholegrain", 33.0, 31.5, 35.0, (Share("salt", 1.0, 0.0),), 150.0, 90.0, 300.0),
}
CLEAN = WalkThrough(
    "clean down",
    (
        Step("Off and unplugged.", safety=True),
        Step("Scrape it.", caution="No steel."),
        Step("Close the guard.", safety=True),
    ),
)
CHANGE = WalkThrough("die change", (Step("Off, unplugged.", safety=True), Step("Loosen it.")))
WALKS = {walk.name: walk for walk in (CLEAN, CHANGE)}
PLANNED = (
    PlannedBatch("day/1", "rigatoni", None, 1500.0, 465.0, 14, "16:30"),
    PlannedBatch("day/2", "tagliatelle", "egg", 1000.0, 157.7, 9, "17:30"),
)
REMEMBERS = Known(
    lambda lot, _recipe, _humidity: LOTS.get(lot),
    PLANS,
    WALKS,
    voices=frozenset({"Ada"}),
    read_time=lambda *_: 1.0,
)
"""A kitchen that knows lot 12 well, lots 7 and 8 as just moved, lot 1 by one batch, and of lots 99 and 5 only
others."""


@dataclass
class Kitchen:
    """Runs `decide` and `evolve` as the loop does: what is due goes first, then what was said."""

    rules: BatchRules = field(default_factory=BatchRules)
    known: Known = NOTHING
    state: State = field(default_factory=State)
    now: float = 0.0
    events: list[ev.Event] = field(default_factory=list)
    heard: list[Announcement] = field(default_factory=list)

    def ask(self, request: Request) -> list[Spoken]:
        """Decide and evolve; gives key and values of what is said."""
        decision = decide(self.state, request, self.now, self.rules, self.known)
        for event in decision.events:
            self.state = evolve(self.state, event)
        assert decision.state == self.state, "a decision carries the state after its events"
        self.events.extend(decision.events)
        self.heard.extend(decision.announcements)
        return [(found.key, dict(found.values)) for found in decision.announcements]

    def say(
        self, command: cmd.Command, *, unsure: bool = False, near: bool = False, text: str = ""
    ) -> list[Spoken]:
        """The cook says a command; `near`: its number's twin was heard nearly as well."""
        return self.ask(Said(command, text=text, unsure=unsure, twin_near=near))

    def keys(self, command: cmd.Command, *, unsure: bool = False, near: bool = False) -> list[str]:
        """Keys of what is answered."""
        return [key for key, _ in self.say(command, unsure=unsure, near=near)]

    def wait(self, seconds: float) -> list[Spoken]:
        """Time passes, and all that falls due on the way is said."""
        until, said = self.now + seconds, list[Spoken]()
        while (due := next_due(self.state)) is not None and due <= until:
            self.now = max(self.now, due)
            said += self.ask(Due())
        self.now = until
        return said

    def restart(
        self, *, off: float = 0.0, now: float = 0.0, certain: bool = True, known: bool = False
    ) -> list[Spoken]:
        """The power was gone for `off` seconds; the new boot's clock stands at `now`.

        `known`: whether the wall time of the last moment before is known, 0.
        """
        shift = now - (off if certain else 0.0) - self.now
        self.now = now
        return self.ask(Started(shift, certain, KnownTime(now, 0.0) if known else None))

    @property
    def batch(self) -> Batch:
        """The open batch."""
        assert self.state.batch is not None
        return self.state.batch

    def check(self) -> None:
        """The journal alone gives the same state."""
        assert replay(self.events) == self.state


def mixing(flour: float = 1500, *pours: float, rules: BatchRules | None = None) -> Kitchen:
    """A kitchen with a batch open and some water in."""
    kitchen = Kitchen(rules or BatchRules())
    kitchen.say(cmd.NewBatch(typed(flour)))
    for pour in pours:
        kitchen.say(cmd.AddWater(typed(pour)))
    return kitchen


def at_target(flour: float = 1500) -> Kitchen:
    """A batch with the target's water in, mixed, its crumb wanting a squeeze."""
    kitchen = mixing(flour)
    kitchen.say(cmd.PourRest())
    kitchen.say(cmd.Mix(60))
    kitchen.wait(60)
    kitchen.say(cmd.GotIt())
    return kitchen
