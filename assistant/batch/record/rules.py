"""What `decide` is given beside the state: the figures of the kitchen, and what the kitchen knows.

All default figures are common practice without a published source; the kitchen's own figures win.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from assistant.batch.record.clocks.food_rules import FOOD_CODE, FoodRules
from assistant.batch.record.printing.print_kinds import PrintedWhat
from assistant.batch.record.steps import WalkThrough
from assistant.dough.calculators.throughput import DieFigures
from assistant.dough.lots import Forecast
from assistant.dough.ranges import BATCH_FLOUR_G
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import PlannedBatch
from assistant.dough.yields import USUAL_PORTION_G

LEAST_FLOUR_G = BATCH_FLOUR_G.least
"""Less flour than this (g) is a misheard number, not a batch."""


@dataclass(frozen=True, slots=True)
class BatchRules:
    """Figures of a batch. Hydration in percent of the flour, masses in g, times in s."""

    target_pct: float = 31.0
    low_pct: float = 30.0
    high_pct: float = 33.0
    hopper_g: float = 3000.0
    """Flour and water that the hopper holds."""
    first_pour_share: float = 0.72
    """Share of the target's water after which the crumb is first looked at."""
    first_mix_s: float = 120.0
    target_mix_s: float = 60.0
    top_up_mix_s: float = 30.0
    rest_s: float = 90.0
    step_pct: float = 1.0
    """Most water of a top-up, in percent of the flour."""
    question_s: float = 10.0
    """How long a question waits."""
    warn_s: float = 30.0
    """How long before its end a mix is announced."""
    ring_every_s: float = 15.0
    """Pause between two calls of a ringing timer."""
    water_temperature_c: float = 20.0
    """Converts volumes of water into masses."""
    portion_g: float = USUAL_PORTION_G
    """Raw pasta of a portion."""
    cook_s: float = 360.0
    """Time in the water of a shape that has no time of its own."""
    rest_calls_s: float = 600.0
    """A rest of at least this length is called at half-time and in its last minute; 0: none is."""
    prep_calls: bool = False
    """Whether the prep team is told of such a rest."""
    tray_warn_s: float = 1800.0
    """How long before its limit a tray is called; 0: it is not."""
    ready_call_s: float = 1200.0
    """How long a crumb that is ready waits until that is mentioned once; 0: it is not. It dries meanwhile."""
    food: FoodRules = FOOD_CODE
    """Rules of food safety."""
    cook: str = ""
    """Who judges the crumb; empty: not known."""


Lots = Callable[[str, str | None, float | None], Forecast | None]
"""Lot, recipe (None: none), humidity (%; None: not told) -> forecast for a batch; None: nothing is known."""


def _no_forecast(_lot: str, _recipe: str | None, _humidity_pct: float | None) -> Forecast | None:
    return None


@dataclass(frozen=True, slots=True)
class DayFigures:
    """What was made today, by the batches that are closed."""

    batches: int
    portions: int
    scrap_g: float
    """Dough that was trimmed or lost (g)."""
    lots: tuple[str, ...] = ()
    """Lots of flour, in the order of their use."""
    left_g: tuple[tuple[str, float], ...] = ()
    """Lots whose delivery is written down, with what no batch has taken of them yet (g)."""

    def order_g(self, wanted_g: float) -> float | None:
        """Flour (g) to order where the plan wants this much; None where what is left is not known."""
        if not self.left_g:
            return None
        return max(0.0, wanted_g - sum(grams for _, grams in self.left_g))


Dies = Callable[[str | None], DieFigures | None]
"""Name of a die (None: not named) -> what its batches say of it; None: nothing is known."""


def _no_figures(_die: str | None) -> DieFigures | None:
    return None


Day = Callable[[], DayFigures | None]
"""-> what was made today; None: the record can't be read."""


def _no_day() -> DayFigures | None:
    return None


Today = Callable[[], str | None]
"""The kitchen's day, as 2026-03-02; None: not known, for the clock was not set."""


def _no_date() -> str | None:
    return None


ReadTime = Callable[[int, int, float | None], float | None]
"""Hour of the twelve, minutes past it, and a wall time that it can't be before (None: not known) -> the wall
time that a cook reads so (s since 1970); None: the clock is set, and nobody needs to tell."""


def _clock_is_set(_hour: int, _minute: int, _after: float | None) -> float | None:
    return None


@dataclass(frozen=True, slots=True)
class PlanTime:
    """How the clock on the wall stands to the day's plan."""

    days: int
    """Days since the day of the plan: 0 is today's, 1 yesterday's; below 0 it is still to come."""
    second: float
    """Second of this day."""

    def late_s(self, batch: PlannedBatch) -> float:
        """Time since a batch was to begin (s); below 0 before that."""
        hours, _, minutes = batch.start.partition(":")
        return self.days * 86_400.0 + self.second - (int(hours) * 3600.0 + int(minutes) * 60.0)


@dataclass(frozen=True, slots=True)
class Known:
    """What the kitchen knows: its flour's past, its recipes, its plan.

    The same within one decision: only a batch that is closed or taken back changes what is known.
    """

    lots: Lots = _no_forecast
    recipes: Mapping[str, RecipePlan] = field(default_factory=dict)
    walks: Mapping[str, WalkThrough] = field(default_factory=dict)
    cooking_s: Mapping[str, float] = field(default_factory=dict)
    """Time in the water by shape (s)."""
    granulation: Mapping[str, float] = field(default_factory=dict)
    """Size of the grains by lot (micrometres), of those where it is known."""
    gluten_free_lots: frozenset[str] = frozenset()
    """Lots whose flour is known to have no gluten."""
    day: Day = _no_day
    dies: Dies = _no_figures
    today: Today = _no_date
    read_time: ReadTime = _clock_is_set
    prints: frozenset[PrintedWhat] = frozenset()
    """What there is a printer for."""
    voices: frozenset[str] = frozenset()
    """Cooks whose voice is kept, but for the one that is listened for."""
    plan: tuple[PlannedBatch, ...] = ()
    """The day's batches in their order."""
    plan_time: PlanTime | None = None
    """How late it is for them; None: not known, and nothing is called late."""


NOTHING = Known()
