"""The batch sheet as a value, without a language: what is known of one batch, in the order it happened.

What is logged follows the trade's batch logs (date, lot, flour and water by addition and time, mix and rest
times, crumb verdicts, adjustments, die, scrap, net yield): common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from assistant.batch.record.clocks.food_rules import FOOD_CODE, FoodRules
from assistant.batch.record.commands import Verdict
from assistant.batch.record.events import Source
from assistant.dough.calculators.throughput import DieRun
from assistant.dough.hydration import hydration_pct
from assistant.dough.ingredients import Addition
from assistant.journal.summaries import Outcome


@dataclass(frozen=True, slots=True)
class Phrase:
    """Something that `sheets.toml` has a wording for."""

    key: str
    values: Mapping[str, Any] = field(default_factory=dict)
    """What the wording may put in."""


@dataclass(frozen=True, slots=True)
class Moment:
    """When something happened."""

    since_s: float
    """Time since the batch was opened (s)."""
    wall: float
    """Wall time (s since 1970)."""
    wall_trusted: bool
    """Whether the wall clock was set."""

    def plus(self, seconds: float) -> "Moment":
        """The moment this long after it (s)."""
        return replace(self, since_s=self.since_s + seconds, wall=self.wall + seconds)


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One thing that happened."""

    moment: Moment
    what: Phrase
    source: Source | None = None
    """Who or what reported it; None where that is not recorded."""
    hydration_pct: float | None = None
    """Water per 100 of flour right after it, as it was known then; None where it changes nothing."""
    struck: bool = False
    """Whether it was corrected or taken back later; the notes say how."""
    notes: tuple[Phrase, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A batch from its opening to now, corrections and withdrawals done; masses g."""

    number: int
    opened: Moment
    ended: Moment | None
    """None while the batch is open."""
    outcome: Outcome
    lot: str | None
    target_pct: float
    low_pct: float
    high_pct: float
    flour_g: float
    water_g: float
    """The water of the additions counts."""
    scrap_g: float
    crumb: Verdict | None
    """The last verdict; None without any."""
    extruded_early: bool | None
    """Whether extruding began before a crumb was called ready; None without extruding."""
    dies: tuple[str, ...]
    """Oldest first."""
    trays: int
    portions: int
    lines: tuple[SheetLine, ...]
    station: str = ""
    """Name of the station that prints it; empty: it is not printed."""
    clock_told: bool = False
    """Whether its wall times go by what a cook told, and not by a time server."""
    certain: bool = True
    """False where the station was off for an unknown time: later times are too early then."""
    recipe: str | None = None
    allergens: tuple[str, ...] = ()
    """Those of its recipe as it was when the batch was opened, without their kinds."""
    flours: tuple[str, ...] = ()
    """Flours of its recipe by name."""
    additions: tuple[Addition, ...] = ()
    """Those that went in."""
    to_come: tuple[Addition, ...] = ()
    """Those of the recipe that nobody said were in."""
    carried_g: float | None = None
    """Water that the additions brought; None: they went in with the flour, and nobody told of them."""
    dry_g: float = 0.0
    """What the additions brought beside their water."""
    out_g: float = 0.0
    """What was taken out of the hopper again; flour and water are those that stayed."""
    out_flour_g: float = 0.0
    """Flour in that."""
    food: FoodRules | None = None
    """Rules of food safety that it was made under; None: its sheet stays as it was without them."""
    wet: Moment | None = None
    """Its first wet contact; None: no water was told."""
    granulation: float | None = None
    """Size of the flour's grains (micrometres); None: not known."""
    carried_over: tuple[str, ...] = ()
    """Allergens that batches before left in the machine: no clean down since."""
    run: DieRun | None = None
    """How it went through the die; None: that can't be said."""
    unclean: Moment | None = None
    """Since when the machine was unclean; None: it was cleaned, or that was not recorded."""

    @property
    def food_rules(self) -> FoodRules:
        """Rules of food safety that it is held against."""
        return self.food or FOOD_CODE

    @property
    def cold_by(self) -> Moment | None:
        """When it has to be down to cold holding."""
        return self.wet and self.wet.plus(self.food_rules.cold_s)

    def use_by(self, days: int, zone: tzinfo | None) -> date | None:
        """Last of so many days, that of its first wet contact is the first; None: the clock was not set."""
        wet = self.wet or self.opened
        if not (wet.wall_trusted and self.certain):
            return None
        return datetime.fromtimestamp(wet.wall, zone).date() + timedelta(days=days - 1)

    @property
    def clean_by(self) -> Moment | None:
        """When clean down is due."""
        return self.unclean and self.unclean.plus(self.food_rules.clean_s)

    @property
    def hydration_pct(self) -> float:
        """Water per 100 of flour."""
        return hydration_pct(self.water_g, self.flour_g)

    @property
    def dough_g(self) -> float:
        """Flour, water and all of the additions (g)."""
        return self.flour_g + self.water_g + self.dry_g

    @property
    def net_g(self) -> float:
        """Dough less scrap (g)."""
        return self.dough_g - self.scrap_g

    @property
    def yield_pct(self) -> float:
        """Net of the dough (percent)."""
        return 100.0 * self.net_g / self.dough_g

    @property
    def clock_set(self) -> bool:
        """Whether the wall clock was set at every line."""
        return all(line.moment.wall_trusted for line in self.lines)
